"""The timing of a method as a separate picture, for links shown elsewhere and for two methods side by side."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from importlib.resources import files
from io import BytesIO

from markupsafe import escape
from msgspec import Struct
from PIL import Image, ImageDraw, ImageFont

from handbook.page.schedule import ScheduledStep
from handbook.report.method_report import Report
from site_build.base.local_formats import format_time, format_time_range
from site_build.base.local_forms import local
from site_build.base.said_words import bare, said, say
from site_build.charts.timing_chart import time_ticks

#: The size that readers of Open Graph expect.
WIDTH, HEIGHT = 1200, 630
_PAPER, _INK, _LAKE, _ICE, _QUIET, _HAIR = "#fbfcfa", "#0d1b21", "#0f4453", "#e4edef", "#43535a", "#a9b9be"
_LEFT, _RIGHT, _TOP, _BOTTOM = 40, WIDTH - 40, 218, HEIGHT - 62
#: Size in picture units, and the theme's font file, of each kind of text.
_FONTS = {
    "title": (72, "figures-800.woff2"),
    "figure": (40, "figures-800.woff2"),
    "word": (26, "text-700.woff2"),
    "tick": (22, "text-400.woff2"),
}


class PictureBar(Struct, frozen=True, kw_only=True):
    """A filled rectangle, or with ``edge`` an open one."""

    left: float
    top: float
    width: float
    height: float
    fill: str
    edge: str = ""


class PictureText(Struct, frozen=True, kw_only=True):
    """A line of text on its baseline; ``anchor`` is start, middle or end."""

    left: float
    base: float
    words: str
    font: str
    fill: str = _INK
    anchor: str = "start"


def timing_shapes(report: Report, kitchen: str) -> list[PictureBar | PictureText]:
    """The picture's shapes in drawing order: title, figures, one bar for each step, the time axis."""
    steps = report.schedule.steps
    span = max(each.start.typical + each.duration.high for each in steps)
    scale = (_RIGHT - _LEFT) / span
    lane = (_BOTTOM - _TOP) / len(steps)
    bars = (
        bar for index, each in enumerate(steps) for bar in _step_bars(each, _TOP + lane * (index + 0.5), lane, scale)
    )
    return [*_head(report, kitchen), *_axis(span, scale), *bars]


def _head(report: Report, kitchen: str) -> list[PictureBar | PictureText]:
    plan, sheet = report.schedule, report.method.front_matter
    return [
        PictureBar(left=0, top=0, width=WIDTH, height=HEIGHT, fill=_PAPER),
        PictureBar(left=0, top=0, width=WIDTH, height=16, fill=_LAKE),
        PictureText(left=_LEFT, base=96, words=_fitted(sheet.title, "title", _RIGHT - _LEFT), font="title"),
        PictureText(
            left=_LEFT,
            base=140,
            words=f"{bare(said(sheet.kind))}  ·  {_fitted(kitchen, 'word', 700)}",
            font="word",
            fill=_QUIET,
        ),
        PictureText(
            left=_LEFT,
            base=196,
            words=bare(say("%(time)s start to finish", time=format_time_range(plan.total))),
            font="figure",
        ),
        PictureText(
            left=_RIGHT,
            base=196,
            words=bare(say("%(time)s hands-on", time=format_time(plan.hands_on.typical))),
            font="figure",
            fill=_INK,
            anchor="end",
        ),
    ]


def _axis(span: float, scale: float) -> Iterator[PictureBar | PictureText]:
    """The lines and labels of the time axis."""
    for at, label in time_ticks(span, 8):
        place = _LEFT + at * scale
        yield PictureBar(left=place - 1, top=_TOP, width=2, height=_BOTTOM - _TOP, fill=_HAIR)
        anchor = "start" if at == 0 else "end" if place > _RIGHT - 60 else "middle"
        words = bare(local(label))
        yield PictureText(left=place, base=_BOTTOM + 32, words=words, font="tick", fill=_QUIET, anchor=anchor)


def _step_bars(each: ScheduledStep, middle: float, lane: float, scale: float) -> Iterator[PictureBar]:
    """The certain length of a step, with the possible one behind it."""
    height = min(lane * (0.7 if each.step.hands_on else 0.4), 34)
    top = middle - height / 2
    left = min(_LEFT + each.start.typical * scale, _RIGHT - 6)
    sure, most = max(each.duration.low * scale, 6), each.duration.high * scale
    if most > sure + 2:
        yield PictureBar(left=left, top=top, width=most, height=height, fill=_PAPER, edge=_QUIET)
    fill, edge = (_INK, "") if each.step.hands_on else (_ICE, _LAKE)
    yield PictureBar(left=left, top=top, width=sure, height=height, fill=fill, edge=edge)


def svg(shapes: list[PictureBar | PictureText], words: str) -> str:
    """The shapes as an SVG file; ``words`` describe it."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'role="img"><title>{escape(words)}</title>'
    ]
    for each in shapes:
        if isinstance(each, PictureBar):
            edge = f' stroke="{each.edge}" stroke-width="3"' if each.edge else ""
            parts.append(
                f'<rect x="{each.left:.1f}" y="{each.top:.1f}" width="{each.width:.1f}" height="{each.height:.1f}" '
                f'fill="{each.fill}"{edge}/>'
            )
        else:
            size, file = _FONTS[each.font]
            weight = 400 if "400" in file else 700
            # A picture has no font of its own: a condensed font of the device is fitted to the measured length.
            length = f' textLength="{_length(each.words, each.font):.0f}" lengthAdjust="spacingAndGlyphs"'
            parts.append(
                f'<text x="{each.left:.1f}" y="{each.base:.1f}" font-family="Arial Narrow, Verdana, sans-serif" '
                f'font-size="{size}" font-weight="{weight}" fill="{each.fill}" text-anchor="{each.anchor}"{length}>'
                f"{escape(each.words)}</text>"
            )
    return "".join([*parts, "</svg>\n"])


def png(shapes: list[PictureBar | PictureText]) -> bytes:
    """The shapes as a PNG file, since readers of Open Graph cannot show SVG."""
    picture = Image.new("RGB", (WIDTH, HEIGHT))
    draw = ImageDraw.Draw(picture)
    for each in shapes:
        if isinstance(each, PictureBar):
            corners = (each.left, each.top, each.left + each.width - 1, each.top + each.height - 1)
            draw.rectangle(corners, each.fill, each.edge or None, 3 if each.edge else 0)
        else:
            anchor = {"start": "ls", "middle": "ms", "end": "rs"}[each.anchor]
            draw.text((each.left, each.base), each.words, each.fill, _font(each.font), anchor)
    file = BytesIO()
    picture.quantize(32, Image.Quantize.FASTOCTREE).save(file, "PNG")
    return file.getvalue()


def _fitted(words: str, font: str, room: float) -> str:
    """The words, cut between words where they are longer than ``room``."""
    if _length(words, font) <= room:
        return words
    while " " in words and _length(f"{words} …", font) > room:
        words = words.rsplit(" ", 1)[0]
    return f"{words} …"


def _length(words: str, font: str) -> float:
    return _font(font).getlength(words)


@lru_cache
def _font(name: str) -> ImageFont.FreeTypeFont:
    size, file = _FONTS[name]
    return ImageFont.truetype(
        BytesIO(files("site_build.theme").joinpath(f"assets/fonts/{file}").read_bytes()),
        size,
        layout_engine=ImageFont.Layout.BASIC,
    )
