"""Pictures of pages: size in the page, smaller ones, nothing left of the camera's notes."""

import re

import pytest
from PIL import Image

from site_build.reading.pictures import dress_pictures, picture_faults, picture_size, smaller_path, write_picture


@pytest.fixture
def folder(tmp_path):
    """A methods folder with a turned photograph, a small picture and a drawing."""
    made = tmp_path / "methods"
    (made / "pictures").mkdir(parents=True)
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: turned a quarter (Exif 2.32)
    exif[0x010F] = "a maker"
    Image.effect_noise((2400, 1800), 60).convert("RGB").save(made / "pictures/char.jpg", exif=exif)
    Image.new("RGBA", (300, 200), (10, 90, 120, 128)).save(made / "pictures/mark.png")
    (made / "drawing.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    return made


def published(folder, tmp_path):
    """A site folder with the pictures as MkDocs copies them."""
    site = tmp_path / "site"
    for path in folder.rglob("*.*"):
        target = site / path.relative_to(folder)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(path.read_bytes())
    return site


def test_dress_pictures_size_and_words(folder):
    """The page gets the published size, as shown, and keeps the words; the picture is loaded when it is near."""
    html = dress_pictures('<p><img src="pictures/char.jpg" alt="A &quot;side&quot; of char"></p>', "char.md", folder)
    image = re.search(r"<img [^>]*>", html)[0]
    for part in ('alt="A &#34;side&#34; of char"', 'loading="lazy"', 'width="1600"', 'height="2133"'):
        assert part in image
    assert [part.split()[1] for part in re.search(r'srcset="([^"]+)"', html)[1].split(", ")] == [
        "480w",
        "960w",
        "1600w",
    ]


def test_dress_pictures_from_a_subfolder(folder):
    """A page in a subfolder finds its pictures, and the smaller ones from the site's root."""
    html = dress_pictures('<img alt="mark" src="../pictures/mark.png">', "fish/char.md", folder)
    assert 'srcset="../assets/pictures/pictures/mark.png-300.webp 300w"' in html and 'width="300" height="200"' in html


def test_dress_pictures_leaves_other_pictures(folder):
    """A drawing is only loaded late; a picture that is not in the folder stays as written."""
    assert "<picture>" not in dress_pictures('<img src="drawing.svg" alt="d">', "char.md", folder)
    outside = '<img src="../../secret.png" alt="d">'
    assert dress_pictures(outside, "char.md", folder) == outside


def test_write_pictures(folder, tmp_path):
    """Smaller WebP pictures of the right shape are written; the camera's notes are gone from every file."""
    site = published(folder, tmp_path)
    written = [write_picture(folder, path, site) for path in ("pictures/char.jpg", "pictures/mark.png", "drawing.svg")]
    assert [len(each) for each in written] == [4, 2, 0] and all(
        (site / path).is_file() for each in written for path in each
    )
    for width in (480, 960, 1600):
        with Image.open(site / smaller_path("pictures/char.jpg", width)) as picture:
            assert picture.format == "WEBP" and picture.size == (width, round(width * 2133 / 1600))
            assert not picture.getexif()
    with Image.open(site / "pictures/char.jpg") as picture:
        assert picture.size == (1600, 2133) and not picture.getexif()
    assert (site / "pictures/char.jpg").stat().st_size < (folder / "pictures/char.jpg").stat().st_size
    with Image.open(site / "pictures/mark.png") as picture:
        assert picture.getpixel((0, 0)) == (10, 90, 120, 128)


def test_write_pictures_every_address_is_a_file(folder, tmp_path):
    """Each address that a dressed page names is written."""
    site = published(folder, tmp_path)
    for path in ("pictures/char.jpg", "pictures/mark.png"):
        write_picture(folder, path, site)
    written = '<img src="pictures/char.jpg" alt="c"><img src="pictures/mark.png" alt="m">'
    html = dress_pictures(written, "char.md", folder)
    named = re.findall(r"(assets/pictures/\S+) \d+w", html) + re.findall(r'src="([^"]+)"', html)
    assert len(named) == 6 and all((site / each).is_file() for each in named)


def test_picture_size_turned(folder):
    """A camera's turning is taken into account."""
    assert picture_size(folder / "pictures/char.jpg") == (1800, 2400)


def test_picture_faults(folder):
    """A file that is no picture is named with what is allowed."""
    (folder / "bad.png").write_text("no picture")
    faults = picture_faults(folder, ["bad.png", "pictures/char.jpg", "char.md"])
    assert [str(fault) for fault in faults] == [
        "methods/bad.png:1: picture: read no picture; allowed: a whole PNG, JPEG, WebP, GIF or AVIF picture as its name says, of at most 50 megapixels in 500 frames and 20 MB"
    ]


def test_picture_that_breaks_off_is_told_by_check(tmp_path):
    """A picture whose head is whole and whose pixels end too early is a fault before anything is built."""
    folder = tmp_path / "methods"
    folder.mkdir()
    Image.effect_noise((400, 300), 60).convert("RGB").save(folder / "whole.jpg")
    data = (folder / "whole.jpg").read_bytes()
    (folder / "cut.jpg").write_bytes(data[: len(data) // 2])
    assert [str(each).partition(";")[0] for each in picture_faults(folder, ["whole.jpg", "cut.jpg"])] == [
        'methods/cut.jpg:1: picture: read "a broken picture"'
    ]
