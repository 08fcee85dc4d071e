"""Pictures of method pages: their size in the page, smaller ones for small screens, no camera's notes in the file.

Pillow reads and writes them, each by the reader of the format that its name says and no other. A picture that moves,
and AVIF and GIF, are published as they are. SVG is refused (see file_names.py): opened by itself it can run script.
"""

from __future__ import annotations

import struct
import warnings
from pathlib import Path
from urllib.parse import quote
from xml.etree.ElementTree import Element

from PIL import Image, ImageOps

from handbook.errors import PageError
from site_build.html_tree import inner_html, parse_html
from site_build.links import link_target

#: Widths in pixels of the smaller WebP pictures, and of the widest picture published.
WIDTHS = (480, 960)
WIDEST = 1600
#: A picture is as wide as the screen, or as the column of running text.
SIZES = "(min-width: 44rem) 40rem, 100vw"
MOST_PIXELS = 50_000_000
MOST_BYTES = 20_000_000
FOLDER = "assets/pictures"
_RESIZED = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP"}
_FORMATS = {**_RESIZED, ".gif": "GIF", ".avif": "AVIF"}
# Pillow's readers of broken files raise what their parsing meets.
_BROKEN = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    struct.error,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)
_ALLOWED = (
    "a whole PNG, JPEG, WebP, GIF or AVIF picture as its name says, "
    f"of at most {MOST_PIXELS // 10**6} megapixels and {MOST_BYTES // 10**6} MB"
)


def picture_faults(folder: Path, paths: list[str]) -> list[PageError]:
    """Faults of the pictures among ``paths`` of the methods folder: unreadable ones, and ones far too large."""
    found = ((f"{folder.name}/{path}", _picture_fault(folder / path)) for path in paths)
    return [PageError(file, 1, "picture", read, _ALLOWED) for file, read in found if read]


def dress_pictures(html: str, page_path: str, folder: Path) -> str:
    """The page's cleaned HTML with width, height, late loading and smaller pictures on each ``<img>`` of the methods folder.

    ``page_path`` is the page's path in ``folder``; alternative text is kept as written. Nothing outside ``folder`` is opened.
    """
    root = parse_html(html)
    for parent in list(root.iter()):
        for number, child in enumerate(parent):
            if child.tag == "img":
                parent[number] = _dressed(child, page_path, folder)
    return inner_html(root)


def write_picture(folder: Path, relative: str, site: Path) -> list[str]:
    """Write the picture at ``relative`` of the methods folder, the smaller ones beside it, into the site; the paths written.

    What a camera left in is taken out. A file that is published as it is gives an empty list. Raises HandbookError for
    a picture that breaks off before its end.
    """
    if Path(relative).suffix.lower() not in _RESIZED or _moves(folder / relative):
        return []
    try:
        return _write_one(folder / relative, relative, site)
    except _BROKEN:
        raise PageError(f"{folder.name}/{relative}", 1, "picture", "a broken picture", _ALLOWED) from None


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height in pixels as shown, a camera's turning taken into account."""
    with _opened(path) as picture:
        width, height = picture.size
        turned = picture.getexif().get(0x0112, 1) in (5, 6, 7, 8)  # Exif 2.32, tag Orientation
    return (height, width) if turned else (width, height)


def smaller_path(relative: str, width: int) -> str:
    """Where a smaller picture stands, from the site's root."""
    return f"{FOLDER}/{relative}-{width}.webp"


def _picture_fault(path: Path) -> str:
    """What is wrong with a file called like a picture, or an empty text."""
    suffix = path.suffix.lower()
    if suffix not in _FORMATS:
        return ""
    if path.stat().st_size > MOST_BYTES:
        return f"{path.stat().st_size} bytes"
    try:
        width, height = picture_size(path)
    except _BROKEN:
        return "no picture"
    return f"{width} × {height} pixels" if width * height > MOST_PIXELS else ""


def _opened(path: Path) -> Image.Image:
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        return Image.open(path, formats=[_FORMATS[path.suffix.lower()]])


def _dressed(image: Element, page_path: str, folder: Path) -> Element:
    relative = link_target(page_path, image.get("src", ""))
    if not relative or not (folder / relative).is_file():
        return image
    image.attrib |= {"loading": "lazy", "decoding": "async"}
    if Path(relative).suffix.lower() not in _RESIZED:
        return image
    width, height = _published(picture_size(folder / relative))
    image.attrib |= {"width": str(width), "height": str(height)}
    if _moves(folder / relative):
        return image
    root = "../" * page_path.count("/")
    smaller = [f"{root}{quote(smaller_path(relative, each))} {each}w" for each in (*WIDTHS, width) if each <= width]
    picture = Element("picture")
    picture.append(
        Element("source", {"type": "image/webp", "srcset": ", ".join(dict.fromkeys(smaller)), "sizes": SIZES})
    )
    picture.append(image)
    picture.tail, image.tail = image.tail, None
    return picture


def _published(size: tuple[int, int]) -> tuple[int, int]:
    width, height = size
    return size if width <= WIDEST else (WIDEST, max(1, round(height * WIDEST / width)))


def _write_one(path: Path, relative: str, site: Path) -> list[str]:
    form, written = _RESIZED[path.suffix.lower()], []
    with _opened(path) as opened:
        picture = ImageOps.exif_transpose(opened)
        picture = picture.convert("RGBA" if "A" in picture.getbands() or "transparency" in picture.info else "RGB")
    size = _published(picture.size)
    picture = picture.resize(size, Image.Resampling.LANCZOS) if size != picture.size else picture
    for width in dict.fromkeys(each for each in (*WIDTHS, size[0]) if each <= size[0]):
        written.append(smaller_path(relative, width))
        target = site / written[-1]
        target.parent.mkdir(parents=True, exist_ok=True)
        height = max(1, round(size[1] * width / size[0]))
        picture.resize((width, height), Image.Resampling.LANCZOS).save(target, "WEBP", quality=78)
    fallback = picture.convert("RGB") if form == "JPEG" else picture
    fallback.info = {}
    (site / relative).parent.mkdir(parents=True, exist_ok=True)
    fallback.save(site / relative, form, **({"quality": 82, "optimize": True} if form == "JPEG" else {}))
    return [*written, relative]


def _moves(path: Path) -> bool:
    with _opened(path) as picture:
        return getattr(picture, "n_frames", 1) > 1
