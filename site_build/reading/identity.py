"""The house's identity: its mark, checked in the folder, and its colours, checked for contrast."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from msgspec import Struct

from handbook.base.errors import PageError
from handbook.page.house import House
from site_build.reading.house_style import colour_faults
from site_build.reading.picture_reading import FORMATS, is_picture, moves, picture_size

#: Sides of a mark in pixels: small enough for a page's head, large enough for a sharp icon.
LEAST_SIDE, MOST_SIDE, MOST_BYTES = 48, 1200, 300_000
_ALLOWED = (
    f"a still picture of the folder, PNG, JPEG or WebP, with sides of {LEAST_SIDE} to {MOST_SIDE} pixels, "
    f"one at most four times the other, and at most {MOST_BYTES // 1000} kB"
)


class Mark(Struct, frozen=True, kw_only=True):
    """The house's own mark: its address from the site's root, its media type and its size in pixels."""

    address: str
    media_type: str
    width: int
    height: int


def identity_faults(folder: Path, published: Collection[str], house: House) -> list[PageError]:
    """The faults of the house's mark and of its colours; ``published`` are the paths of the folder's other files."""
    file = f"{folder.name}/house.yml"
    wrong = _mark_fault(folder, published, house.mark) if house.mark else ""
    found = [PageError(file, house.line, "mark", wrong, _ALLOWED)] if wrong else []
    return found + colour_faults(house, file)


def mark_of(folder: Path, house: House) -> Mark | None:
    """The house's mark, or None where it has none of its own."""
    if not house.mark:
        return None
    width, height = picture_size(folder / house.mark)
    form = FORMATS[Path(house.mark).suffix.lower()]
    return Mark(address=house.mark, media_type=f"image/{form.lower()}", width=width, height=height)


def _mark_fault(folder: Path, published: Collection[str], mark: str) -> str:
    if mark not in published or not is_picture(mark) or Path(mark).suffix.lower() in (".gif", ".avif"):
        return mark
    try:
        if moves(folder / mark):
            return f"{mark}, a moving picture"
        size = picture_size(folder / mark)
    except Exception:  # parsing a damaged file can raise any error; picture_faults names it
        return f"{mark}, no picture"
    low, high = sorted(size)
    if low < LEAST_SIDE or high > MOST_SIDE or high > 4 * low:
        return f"{mark}, {size[0]} × {size[1]} pixels"
    count = (folder / mark).stat().st_size
    return f"{mark}, {count} bytes" if count > MOST_BYTES else ""
