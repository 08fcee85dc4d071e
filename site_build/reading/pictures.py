"""Pictures of method pages: their size in the page, smaller copies for small screens, no camera notes in the file.

picture_reading.py decodes them and checks their limits. SVG is refused (see file_names.py), because it can run scripts
when it is opened by itself.
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote
from xml.etree.ElementTree import Element

from PIL import Image

from handbook.base.errors import PageError
from site_build.base.html_tree import inner_html, parse_html
from site_build.reading.links import link_target
from site_build.reading.picture_reading import (
    FORMATS,
    MOST_BYTES,
    MOST_FRAMES,
    MOST_PIXELS,
    Moving,
    excess,
    is_picture,
    moves,
    moving,
    picture_size,
    still,
)

#: Widths in pixels of the smaller WebP copies, and of the widest published picture.
WIDTHS = (480, 960)
WIDEST = 1600
#: Largest side of a WebP picture (RFC 9649, section 2.6).
MOST_SIDE = 16_383
#: A picture is as wide as the screen, or as the column of text.
SIZES = "(min-width: 44rem) 40rem, 100vw"
FOLDER = "assets/pictures"
_ALLOWED = (
    "a whole PNG, JPEG, WebP, GIF or AVIF picture as its name says, "
    f"of at most {MOST_PIXELS // 10**6} megapixels in {MOST_FRAMES} frames and {MOST_BYTES // 10**6} MB"
)
#: Options for writing each format.
_QUALITY = {"JPEG": {"quality": 82, "optimize": True}, "WEBP": {"quality": 78}, "AVIF": {"quality": 70, "speed": 8}}


def picture_faults(folder: Path, paths: list[str]) -> list[PageError]:
    """Faults of the pictures among ``paths`` of the methods folder: unreadable and too large ones."""
    found = ((f"{folder.name}/{path}", _picture_fault(folder / path)) for path in paths)
    return [PageError(file, 1, "picture", read, _ALLOWED) for file, read in found if read]


def dress_pictures(html: str, page_path: str, folder: Path) -> str:
    """The page's cleaned HTML with width, height, lazy loading and smaller copies on each ``<img>`` of the methods
    folder.

    ``page_path`` is the page's path in ``folder``; alternative texts remain as written. No file outside ``folder`` is
    opened.
    """
    root = parse_html(html)
    for parent in list(root.iter()):
        for number, child in enumerate(parent):
            if child.tag == "img":
                parent[number] = _dressed(child, page_path, folder)
    return inner_html(root)


def write_picture(folder: Path, relative: str, site: Path) -> list[str]:
    """Write the picture at ``relative`` of the methods folder and its smaller copies into the site; return the paths.

    All are written anew from the pixels. A moving picture has no smaller copies; a file that is not a picture gives an
    empty list. Raises PageError for a truncated picture.
    """
    if not is_picture(relative):
        return []
    path, form = folder / relative, FORMATS[Path(relative).suffix.lower()]
    try:
        frames = moving(path) if moves(path) else None
        picture = still(path) if frames is None else None
    except Exception:  # parsing a damaged file can raise any error
        raise PageError(f"{folder.name}/{relative}", 1, "picture", "a broken picture", _ALLOWED) from None
    (site / relative).parent.mkdir(parents=True, exist_ok=True)
    if frames is not None:
        _write_moving(frames, form, site / relative)
        return [relative]
    return _write_still(picture, form, relative, site)


def smaller_path(relative: str, width: int) -> str:
    """The path of a smaller copy from the site's root."""
    return f"{FOLDER}/{relative}-{width}.webp"


def _picture_fault(path: Path) -> str:
    """The fault of a file with the name of a picture, or an empty text. It is decoded completely, within limits."""
    if not is_picture(path):
        return ""
    try:
        said = excess(path)
        size = (0, 0) if said else picture_size(path)
    except Exception:  # parsing a damaged file can raise any error
        return "no picture"
    if said or max(_published(size)) > MOST_SIDE:
        return said or f"{size[0]} × {size[1]} pixels"
    try:
        moving(path) if moves(path) else still(path)
    except Exception:
        return "a broken picture"
    return ""


def _dressed(image: Element, page_path: str, folder: Path) -> Element:
    relative = link_target(page_path, image.get("src", ""))
    if not relative or not (folder / relative).is_file():
        return image
    image.attrib |= {"loading": "lazy", "decoding": "async"}
    if Path(relative).suffix.lower() not in FORMATS:
        return image
    width, height = _published(picture_size(folder / relative))
    image.attrib |= {"width": str(width), "height": str(height)}
    if moves(folder / relative):
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


def _write_still(picture: Image.Image, form: str, relative: str, site: Path) -> list[str]:
    written, size = [], _published(picture.size)
    picture = _resized(picture, size)
    for width in dict.fromkeys(each for each in (*WIDTHS, size[0]) if each <= size[0]):
        written.append(smaller_path(relative, width))
        target = site / written[-1]
        target.parent.mkdir(parents=True, exist_ok=True)
        height = max(1, round(size[1] * width / size[0]))
        _resized(picture, (width, height)).save(target, "WEBP", **_QUALITY["WEBP"])
    own = picture.convert("RGB") if form == "JPEG" else picture
    own.save(site / relative, form, **_QUALITY.get(form, {}))
    return [*written, relative]


def _write_moving(moving: Moving, form: str, target: Path) -> None:
    first, *others = (_resized(frame, _published(frame.size)) for frame in moving.frames)
    options = dict(_QUALITY.get(form, {}))
    if moving.loop is not None and form != "AVIF":
        options["loop"] = moving.loop
    if form == "GIF" and first.mode == "RGBA":
        options["disposal"] = 2  # areas that the next frame leaves open do not show this frame
    first.save(target, form, save_all=True, append_images=others, duration=list(moving.durations), **options)


def _resized(picture: Image.Image, size: tuple[int, int]) -> Image.Image:
    return picture if size == picture.size else picture.resize(size, Image.Resampling.LANCZOS)
