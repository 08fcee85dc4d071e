"""Layout of the flow diagram of a method: one box for each step, from top to bottom, in columns."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from msgspec import Struct

EDGE, GAP, LINE, PAD, MOST_LINES = 2.0, 26.0, 16.0, 10.0, 5


class Layout(Struct, frozen=True, kw_only=True):
    """The width of the drawing and of a box, the number of boxes in a row, and of letters in a line."""

    width: float
    box: float
    columns: int
    letters: int


WIDE = Layout(width=720.0, box=218.0, columns=3, letters=27)
NARROW = Layout(width=360.0, box=356.0, columns=1, letters=44)


class FlowInput(Struct, frozen=True, kw_only=True):
    """One step: its number, words, and whether it is a control point."""

    number: int
    words: str
    facts: str
    is_control_point: bool


class FlowBox(Struct, frozen=True, kw_only=True):
    """One box with its lines of text; ``arrow`` is the path from the box before, "" for the first."""

    left: float
    top: float
    height: float
    lines: tuple[tuple[float, str], ...]
    facts_at: float
    facts: str
    is_control_point: bool
    arrow: str


class FlowChart(Struct, frozen=True, kw_only=True):
    """All boxes and the size of the drawing."""

    width: float
    height: float
    box: float
    boxes: tuple[FlowBox, ...]


def flow_chart(steps: Sequence[FlowInput], layout: Layout = WIDE) -> FlowChart:
    """The boxes of ``steps`` in rows, read from left to right."""
    columns = layout.columns
    side = (layout.width - 2 * EDGE - columns * layout.box) / max(columns - 1, 1)
    boxes, top = list[FlowBox](), 4.0
    for start in range(0, len(steps), columns):
        row = steps[start : start + columns]
        texts = [_lines(each, layout.letters) for each in row]
        height = PAD * 2 + LINE * (max(len(each) for each in texts) + 1)
        for column, (each, lines) in enumerate(zip(row, texts, strict=True)):
            left = EDGE + column * (layout.box + side)
            boxes.append(
                FlowBox(
                    left=left,
                    top=top,
                    height=height,
                    lines=tuple((top + PAD + LINE * (at + 0.75), line) for at, line in enumerate(lines)),
                    facts_at=top + height - PAD,
                    facts=each.facts,
                    is_control_point=each.is_control_point,
                    arrow=_arrow(boxes[-1], left, top, column, height, layout.box) if boxes else "",
                )
            )
        top += height + GAP
    return FlowChart(width=layout.width, height=max(top - GAP + 4, 8.0), box=layout.box, boxes=tuple(boxes))


def _arrow(before: FlowBox, left: float, top: float, column: int, height: float, width: float) -> str:
    """The path from the right edge of the box before to this one, or down and back to the first of the next row."""
    if column:
        y = top + height / 2
        return f"M{before.left + width:.1f} {y:.1f}H{left:.1f}l-6 -4m6 4l-6 4"
    x, middle = before.left + width / 2, top - GAP / 2
    return f"M{x:.1f} {before.top + before.height:.1f}V{middle:.1f}H{left + width / 2:.1f}V{top:.1f}l-4 -6m4 6l4 -6"


def _lines(each: FlowInput, letters: int) -> list[str]:
    lines = wrap(f"{each.number}. {each.words}", letters, max_lines=MOST_LINES, placeholder=" …")
    return lines or [f"{each.number}."]
