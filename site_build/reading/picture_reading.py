"""Reads pictures: checks limits before anything is decoded, then takes only the pixels of the file.

Pillow opens each file with the reader of the format in its name. Everything else in the file is dropped (camera notes,
location, comments, profiles, previews, further pictures, trailing bytes): published pictures are written anew from
pixels.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct
from PIL import Image, ImageOps

FORMATS = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP", ".gif": "GIF", ".avif": "AVIF"}
#: For all frames of a picture together.
MOST_PIXELS = 50_000_000
MOST_BYTES = 20_000_000
MOST_FRAMES = 500
#: A progressive JPEG is decoded once for each scan; cameras and editors write about ten scans.
MOST_SCANNED_PIXELS = 20 * MOST_PIXELS
#: Photographs take far more than one byte per 100 pixels, while a few bytes can represent a huge plain area.
MOST_PIXELS_A_BYTE, FREE_PIXELS = 500, 4_000_000

# Pillow only warns of pictures between these limits and its own wider ones.
warnings.simplefilter("error", Image.DecompressionBombWarning)


class Moving(Struct, frozen=True, kw_only=True):
    """The frames of a moving picture, each with its time in ms, and the number of repetitions (0: endless)."""

    frames: tuple[Image.Image, ...]
    durations: tuple[int, ...]
    loop: int | None


def is_picture(path: str | Path) -> bool:
    """Whether a file has the name of a picture."""
    return Path(path).suffix.lower() in FORMATS


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height in pixels as shown, after the camera's rotation."""
    with _opened(path) as picture:
        width, height = picture.size
        turned = picture.getexif().get(0x0112, 1) in (5, 6, 7, 8)  # Exif 2.32, tag Orientation
    return (height, width) if turned else (width, height)


def moves(path: Path) -> bool:
    """Whether the picture at ``path`` has several frames."""
    with _opened(path) as picture:
        return _moves(picture, path)


def excess(path: Path) -> str:
    """The limit that the picture at ``path`` exceeds, or an empty text. Little is decoded to find out."""
    size = path.stat().st_size
    if size > MOST_BYTES:
        return f"{size} bytes"
    with _opened(path) as picture:
        width, height = picture.size
        pixels, count = width * height, 1
        if pixels <= MOST_PIXELS and _moves(picture, path):
            pixels, count = _all_pixels(picture)
        said = f"{width} × {height} pixels" + (f" in {count} frames" if count > 1 else "")
        if pixels > MOST_PIXELS or count > MOST_FRAMES:
            return said
        if pixels > max(FREE_PIXELS, MOST_PIXELS_A_BYTE * size):
            return f"{said} in {size} bytes"
    scans = _scans(path)
    return f"{said} in {scans} scans" if scans * pixels > MOST_SCANNED_PIXELS else ""


def still(path: Path) -> Image.Image:
    """The picture at ``path``, or the first of several, as it is shown."""
    with _opened(path) as picture:
        return _bare(picture)


def moving(path: Path) -> Moving:
    """All frames of the picture at ``path`` as they are shown.

    Raises ValueError where their sizes differ.
    """
    frames, durations = [], []
    with _opened(path) as picture:
        loop = picture.info.get("loop")
        # A PNG may hold a picture for readers without motion, which no current browser shows.
        hidden = bool(picture.info.get("default_image"))
        for _ in _walk(picture):
            frames.append(_bare(picture))
            durations.append(min(max(round(float(picture.info.get("duration", 0))), 0), 65_535))
    frames, durations = frames[hidden:], durations[hidden:]
    if len({frame.size for frame in frames}) != 1:
        raise ValueError("frames of several sizes")
    return Moving(
        frames=tuple(frames), durations=tuple(durations), loop=None if loop is None else min(max(int(loop), 0), 65_535)
    )


def _opened(path: Path) -> Image.Image:
    return Image.open(path, formats=[FORMATS[path.suffix.lower()]])


def _moves(picture: Image.Image, path: Path) -> bool:
    # Further pictures in a JPEG are previews, depth maps and other views (CIPA DC-007), not frames.
    return FORMATS[path.suffix.lower()] != "JPEG" and bool(getattr(picture, "is_animated", False))


def _all_pixels(picture: Image.Image) -> tuple[int, int]:
    """Pixels of all frames together, and the number of frames, counted up to the limit."""
    if picture.format != "GIF":
        return picture.width * picture.height * picture.n_frames, picture.n_frames
    # Each frame of a GIF has its own size, and only reading them all gives their number.
    pixels = count = 0
    for count in _walk(picture):
        pixels += picture.width * picture.height
        if pixels > MOST_PIXELS or count > MOST_FRAMES:
            break
    return pixels, count


def _walk(picture: Image.Image) -> Iterator[int]:
    """Go to each frame in turn, decoding it on access, and yield the number of frames so far."""
    for number in range(MOST_FRAMES + 1):
        try:
            picture.seek(number)
        except EOFError:
            return
        yield number + 1


def _scans(path: Path) -> int:
    """Number of scans of a JPEG (ITU-T T.81, B.1.1.2: the marker's bytes do not occur within a scan)."""
    return path.read_bytes().count(b"\xff\xda") if FORMATS[path.suffix.lower()] == "JPEG" else 1


def _bare(picture: Image.Image) -> Image.Image:
    """The pixels of the current frame, rotated as shown, without metadata."""
    shown = ImageOps.exif_transpose(picture)
    has_alpha = "A" in shown.getbands() or "transparency" in shown.info
    bare = shown.convert("RGBA" if has_alpha else "RGB")
    bare.info = {}
    return bare
