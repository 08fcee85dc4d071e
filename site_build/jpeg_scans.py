"""How often a JPEG goes over its picture: a progressive one does so in scans, of which each costs the whole picture.

A scan that changes nothing takes some ten bytes of the file and as long to decode as a full one, so a small file can
hold hours of work. Photographs have about ten.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from handbook.errors import PageError
from site_build.pictures import MOST_BYTES

MOST_SCANS = 100
_JPEG = (".jpg", ".jpeg")
#: The marker that begins a scan (ITU-T T.81, table B.1). Within a scan's data no 0xFF stands before 0xDA (B.1.1.5).
_SCAN = b"\xff\xda"


def scan_faults(folder: Path, paths: Iterable[str]) -> list[PageError]:
    """A fault for each JPEG among ``paths`` of the methods folder with more than MOST_SCANS scans."""
    faults = []
    for path in paths:
        if not path.lower().endswith(_JPEG):
            continue
        try:
            with (folder / path).open("rb") as file:
                scans = file.read(MOST_BYTES).count(_SCAN)
        except OSError:
            continue  # told where pictures are opened
        if scans > MOST_SCANS:
            allowed = f"a JPEG of at most {MOST_SCANS} scans; save it anew"
            faults.append(PageError(f"{folder.name}/{path}", 1, "picture", f"{scans} scans", allowed))
    return faults
