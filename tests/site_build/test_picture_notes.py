"""What is published of a picture is its pixels: no byte of what a camera, an editor or a stranger put beside them.

Each file holds the word CANARY in every place that its format has for words, put there by hand from the format's
standard: JPEG ITU-T T.81 and CIPA DC-007 (MPF); PNG W3C, third edition; GIF89a; WebP RFC 9649; AVIF ISO/IEC 23008-12.
"""

from __future__ import annotations

import struct
import zlib
from io import BytesIO
from random import Random

import pytest
from PIL import Image

from site_build.reading.picture_reading import MOST_FRAMES
from site_build.reading.pictures import picture_faults, write_picture

CANARY = b"CANARY 61.0000 N 24.0000 E"
POLYGLOT = b"<html><script>CANARY</script></html>"
PAINT = ((180, 40, 30), (20, 120, 60), (30, 60, 170))


def noise(seed: int, size=(64, 48), mode: str = "RGB") -> Image.Image:
    """A picture with so much in it that it does not pass for a plain field, one colour above all."""
    grey = Image.frombytes("L", size, Random(seed).randbytes(size[0] * size[1]))
    picture = Image.composite(Image.new("RGB", size, PAINT[seed % 3]), grey.convert("RGB"), Image.new("L", size, 230))
    return picture.convert(mode)


def exif() -> Image.Exif:
    """A camera's notes with the place, and a small picture within them."""
    made = Image.Exif()
    made[0x010E], made[0x010F] = CANARY.decode(), CANARY.decode()
    made.get_ifd(0x8825)[0x001D] = CANARY.decode()
    made.get_ifd(0x8769)[0x9286] = CANARY
    return made


def xmp() -> bytes:
    return b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><a>' + CANARY + b"</a></x:xmpmeta>"


def saved(picture: Image.Image, form: str, **more) -> bytes:
    out = BytesIO()
    picture.save(out, form, **more)
    return out.getvalue()


def segment(marker: int, data: bytes) -> bytes:
    return bytes((0xFF, marker)) + struct.pack(">H", len(data) + 2) + data


def jpeg(form: str = "JPEG", **more) -> bytes:
    """A JPEG with every segment for words, and a page behind its end."""
    data = saved(noise(1), form, exif=exif(), xmp=xmp(), comment=CANARY, icc_profile=CANARY * 9, **more)
    photoshop = (
        b"Photoshop 3.0\0" + b"8BIM\x04\x04\0\0" + struct.pack(">I", len(CANARY) + 5) + b"\x1c\x02\x78\0\x1a" + CANARY
    )
    segments = segment(0xED, photoshop) + segment(0xFE, CANARY) + segment(0xEF, CANARY) + segment(0xE5, CANARY)
    return data[:2] + segments + data[2:] + POLYGLOT


def phone() -> bytes:
    """As phones write it: further pictures behind the first, with notes of their own (MPF)."""
    return jpeg("MPO", save_all=True, append_images=[noise(2), noise(3)])


def lying_phone() -> bytes:
    """A JPEG with two whole JPEGs behind its end and no word of them."""
    return jpeg() + jpeg() + jpeg()


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(**more) -> bytes:
    """A PNG with every chunk for words before and after the pixels, one nobody knows, and a page behind its end."""
    data = saved(noise(1, mode="RGBA"), "PNG", exif=exif(), icc_profile=CANARY * 9, **more)
    words = chunk(b"tEXt", b"Comment\0" + CANARY) + chunk(b"zTXt", b"Comment\0\0" + zlib.compress(CANARY * 4, 0))
    words += chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + xmp()) + chunk(b"caNv", CANARY) + chunk(b"tIME", bytes(7))
    return data[:33] + words + data[33:-12] + words + data[-12:] + chunk(b"teXt", CANARY) + POLYGLOT


def moving_png(hidden: bool = False) -> bytes:
    return png(save_all=True, append_images=[noise(2), noise(3)], duration=[40, 60, 80], loop=3, default_image=hidden)


def gif(more: int = 2) -> bytes:
    """A GIF that moves, with comments, words and an application's own block, one between the frames."""
    others = [noise(2 + each) for each in range(more)]
    data = saved(noise(1), "GIF", save_all=True, append_images=others, duration=70, loop=2, comment=CANARY)
    block = bytes((len(CANARY),)) + CANARY + b"\0"
    words = b"\x21\xfe" + block + b"\x21\xff\x0bXMP DataXMP" + block + b"\x21\x01\x0c" + bytes(12) + block
    at = data.index(b"\x21")
    return data[:at] + words + data[at:-1] + words + b";" + POLYGLOT


def webp(**more) -> bytes:
    """A WebP with its chunks for notes, one nobody knows, and a page behind its end."""
    data = saved(noise(1), "WEBP", exif=exif(), xmp=xmp(), icc_profile=CANARY * 9, lossless=True, **more)
    odd = b"CANV" + struct.pack("<I", len(CANARY)) + CANARY + bytes(len(CANARY) % 2)
    return b"RIFF" + struct.pack("<I", len(data) - 8 + len(odd)) + data[8:] + odd + POLYGLOT


def moving_webp() -> bytes:
    return webp(save_all=True, append_images=[noise(2), noise(3)], duration=[40, 60, 80], loop=5)


def avif(**more) -> bytes:
    """An AVIF with its items for notes, a free box and a page behind its end."""
    data = saved(noise(1), "AVIF", exif=exif(), xmp=xmp(), icc_profile=CANARY * 9, **more)
    return data + struct.pack(">I", 8 + len(CANARY)) + b"free" + CANARY + POLYGLOT


def moving_avif() -> bytes:
    return avif(save_all=True, append_images=[noise(2), noise(3)], duration=50)


MADE = {
    "plain.jpg": jpeg, "progressive.jpg": lambda: jpeg(progressive=True), "phone.jpg": phone, "phone.JPEG": phone,
    "behind.jpg": lying_phone, "plain.png": png, "moving.png": moving_png, "hidden.png": lambda: moving_png(True),
    "still.gif": lambda: gif(0), "moving.gif": gif, "plain.webp": webp, "moving.webp": moving_webp, "plain.avif": avif,
    "moving.avif": moving_avif,
}  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "methods"
    made.mkdir()
    return made


def published(folder, name, data):
    """The files that a site has of this picture."""
    (folder / name).write_bytes(data)
    assert picture_faults(folder, [name]) == []
    written = write_picture(folder, name, folder.parent / "site")
    assert name in written
    return {path: (folder.parent / "site" / path).read_bytes() for path in written}


def opened_out(data: bytes) -> bytes:
    """The file with what is packed in it unpacked, as far as zlib's streams can be found."""
    found = [data]
    for at in range(len(data)):
        if data[at] in (0x58, 0x78):
            try:
                found.append(zlib.decompressobj().decompress(data[at:]))
            except zlib.error:
                continue
    return b"".join(found)


@pytest.mark.parametrize("name", MADE)
def test_nothing_but_pixels_is_published(folder, name):
    """The word is in the file that is read, in no file that is published, and no notes of any kind are left."""
    data = MADE[name]()
    assert b"CANARY" in data
    for path, kept in published(folder, name, data).items():
        unpacked = opened_out(kept)
        assert not any(
            word in unpacked
            for word in (b"CANARY", "CANARY".encode("utf-16-le"), b"Photoshop", b"8BIM", b"MPF", b"xmp", b"<html")
        ), path
        with Image.open(BytesIO(kept)) as picture:
            assert not dict(picture.getexif()), path
            assert not {"exif", "xmp", "icc_profile", "comment", "photoshop", "mp"} & set(picture.info), path
            assert picture.format != "MPO"


@pytest.mark.parametrize("name", MADE)
def test_the_picture_is_the_same(folder, name):
    """Format, size, colours, number of frames and their times stay."""
    data = MADE[name]()
    with Image.open(BytesIO(data)) as before, Image.open(BytesIO(published(folder, name, data)[name])) as after:
        assert after.size == before.size and after.format == before.format.replace("MPO", "JPEG")
        count = 1 if name.lower().endswith(("jpg", "jpeg")) else getattr(before, "n_frames", 1) - (name == "hidden.png")
        assert getattr(after, "n_frames", 1) == count
        for number in range(count):
            before.seek(number + (name == "hidden.png"))
            after.seek(number)
            for one, other in zip(mean(before), mean(after), strict=True):
                assert one == pytest.approx(other, abs=6), number
            if count > 1:
                assert after.info["duration"] == before.info["duration"]
        if count > 1 and "loop" in before.info:
            assert after.info["loop"] == before.info["loop"]


def mean(picture: Image.Image) -> tuple[float, ...]:
    """The mean colour of the frame at hand."""
    small = picture.convert("RGB").resize((1, 1), Image.Resampling.BOX)
    return small.getpixel((0, 0))


def test_a_gif_may_uncover(folder):
    """What a frame leaves open shows nothing of the frame before."""
    frames = [Image.new("RGBA", (40, 40), (0, 0, 0, 0)) for _ in range(2)]
    frames[0].paste((200, 0, 0, 255), (0, 0, 20, 40))
    frames[1].paste((0, 0, 200, 255), (20, 0, 40, 40))
    data = saved(frames[0], "GIF", save_all=True, append_images=frames[1:], duration=50, disposal=2)
    with Image.open(BytesIO(published(folder, "a.gif", data)["a.gif"])) as picture:
        picture.seek(1)
        shown = picture.convert("RGBA")
    assert shown.getpixel((5, 5))[3] == 0 and shown.getpixel((30, 5))[2] > 150


def head_of_gif(*frames: tuple[int, int]) -> bytes:
    """A GIF of a black dot and frames of these sizes, of which the file holds next to nothing."""
    made = b"GIF89a" + struct.pack("<HHBBB", 1, 1, 0x80, 0, 0) + bytes(6)
    dots = (b"\x2c" + struct.pack("<HHHHB", 0, 0, *size, 0) + b"\x02\x02\x44\x01\0" for size in frames)
    return made + b"".join(dots) + b";"


def head_of_png(width: int, height: int, frames: int = 0) -> bytes:
    head = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    moves = chunk(b"acTL", struct.pack(">II", frames, 0)) + chunk(
        b"fcTL", struct.pack(">IIIIIHHBB", 0, width, height, 0, 0, 1, 1, 0, 0)
    )
    return head + (moves if frames else b"") + chunk(b"IDAT", zlib.compress(bytes(64))) + chunk(b"IEND", b"")


def many_scans() -> bytes:
    """A JPEG that says the same scan again and again: each costs a way over the whole picture."""
    data = saved(noise(1, (2400, 1800)), "JPEG", progressive=True, quality=20)
    at = data.rindex(b"\xff\xda")
    return data[:-2] + data[at:-2] * 300 + data[-2:]


def plain_field() -> bytes:
    """25 megapixels in a few hundred bytes."""
    return saved(Image.new("L", (5000, 5000)), "WEBP", lossless=True)


TOO_MUCH = {
    "wide.png": (lambda: head_of_png(50_000, 50_000), "picture: read"),
    "frames.png": (lambda: head_of_png(3000, 3000, 6), "3000 × 3000 pixels in 6 frames"),
    "endless.png": (lambda: head_of_png(1, 1, 2**31 - 1), "in 2147483647 frames"),
    "wide.gif": (lambda: head_of_gif((1, 1), (9000, 9000)), "picture: read"),
    "wider.gif": (lambda: head_of_gif((1, 1), (65_535, 65_535)), "picture: read"),
    "long.gif": (lambda: head_of_gif(*[(2000, 2000)] * 40), "frames"),
    "endless.gif": (lambda: head_of_gif(*[(1, 1)] * 200_000), f"in {MOST_FRAMES + 1} frames"),
    "scans.jpg": (many_scans, "2400 × 1800 pixels in 3"),
    "field.webp": (plain_field, "5000 × 5000 pixels in "),
    "tall.png": (lambda: saved(noise(1, (20, 17_000)), "PNG"), "20 × 17000 pixels"),
    "page.jpg": (lambda: POLYGLOT + jpeg(), "no picture"),
    "other.png": (jpeg, "no picture"),
    "other.jpg": (png, "no picture"),
    "vector.png": (lambda: b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture"),
}  # fmt: skip


@pytest.mark.parametrize("name", TOO_MUCH)
def test_too_much_is_a_line(folder, name, recwarn):
    """A picture that would take the builder's memory or minutes is one line, before it is decoded."""
    made, read = TOO_MUCH[name]
    (folder / name).write_bytes(made())
    faults = [str(each) for each in picture_faults(folder, [name])]
    assert len(faults) == 1 and read in faults[0] and "\n" not in faults[0], faults
    assert not recwarn.list


def test_frames_of_several_sizes_are_a_line(folder):
    """A GIF whose frames outgrow it is refused, not published as it is."""
    (folder / "a.gif").write_bytes(head_of_gif((1, 1), (2, 2)))
    with pytest.raises(Exception, match=r'methods/a.gif:1: picture: read "a broken picture"'):
        write_picture(folder, "a.gif", folder.parent / "site")
    assert not list(folder.parent.glob("site/**/*.gif"))
