"""Sizes of a piece from its mass and a shape of the trade, and the solid by which the models represent it.

An ellipsoid heats nearly like the sphere with 3 / R^2 = 1 / a^2 + 1 / b^2 + 1 / c^2 of its half axes: the slowest mode
of the two agrees within 12 % up to axes of 1 : 1.2 : 8, and so does their surface per volume (see
tests/handbook/test_shapes.py).
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.forms import Reading
from handbook.base.ranges import Range
from handbook.base.records import Record, record_of
from handbook.base.units import Quantity
from handbook.base.yaml_text import List, Node, Table, Text
from handbook.page.pieces import LENGTHS, PieceShape

DENSITY = 1060.0  # kg/m3 of raw meat [choi-okos-1986]
BONE = 0.2  # share of a joint's mass (common practice, no source)
STUFFED = 1.25  # mass with its stuffing / without (common practice, no source)


class Build(Struct, frozen=True, kw_only=True):
    """Proportions of pieces of one shape: width and length / thickness, and the spread of a thickness from the mass.

    ``parts`` : equal parts that heat side by side (the two sides of a bird, around its cavity)
    ``spread`` : 19 in 20 pieces are thinner than thickness x spread, 19 in 20 thicker than thickness / spread
    """

    solid: str
    width: float
    length: float
    spread: float
    parts: int = 1


#: Joints and rolls: proportions fitted to the printed sizes of cooked joints in [james-16-4]. Tenderloin: fitted to the
#: length of pork's of about 0.57 kg, 35 cm, and of beef's of 2.7 kg, 76 cm [tenderloin-sizes]. Loin and bird: common
#: practice, no source.
BUILDS = {
    "cylinder": Build(solid="cylinder", width=1.0, length=2.5, spread=1.15),
    "sphere": Build(solid="sphere", width=1.0, length=1.0, spread=1.05),
    "oval": Build(solid="sphere", width=1.25, length=2.0, spread=1.2),
    "joint": Build(solid="sphere", width=1.35, length=2.2, spread=1.25),
    "roll": Build(solid="cylinder", width=1.0, length=2.2, spread=1.15),
    "loin": Build(solid="sphere", width=1.3, length=5.0, spread=1.2),
    "tenderloin": Build(solid="sphere", width=1.2, length=8.0, spread=1.2),
    "bird": Build(solid="sphere", width=1.5, length=2.2, spread=1.2, parts=2),
}


class PiecesForm(Record, frozen=True):
    """The form of a ``pieces`` block, whose thickness may be left out where a mass gives it."""

    def read(self, node: Node, key: str, reading: Reading) -> Any:
        if isinstance(node, Table):
            _check_sizes(node, reading)
        return super().read(node, key, reading)


PIECES_FORM = record_of(PieceShape, PiecesForm)


class Solid(Struct, frozen=True, kw_only=True):
    """The solid by which the models represent a piece. Lengths in m; ``thickness`` is the diameter of a cylinder or sphere."""

    shape: str
    thickness: Range
    width: float | None
    length: float | None


def with_sizes(pieces: PieceShape) -> PieceShape:
    """The pieces with the thickness of the whole and of each size, from the mass where none is written and the shape has one."""
    by_mass = pieces.shape in BUILDS
    sizes = tuple(
        replace(each, thickness=_from_mass(pieces, each.mass))
        if by_mass and each.thickness is None and each.mass
        else each
        for each in pieces.sizes
    )
    thickness = pieces.thickness
    if by_mass and thickness is None and pieces.mass is not None:
        thickness = _from_mass(pieces, pieces.mass)
    return replace(pieces, thickness=thickness, sizes=sizes)


def solid_of(pieces: PieceShape, thickness: Range) -> Solid:
    """The solid of a piece of this ``thickness`` in m: a slab, block, cylinder or sphere."""
    build = BUILDS.get(pieces.shape)
    width = pieces.width.middle if pieces.width else None
    length = pieces.length.middle if pieces.length else None
    if build is None or pieces.shape == "sphere" or (pieces.shape == "cylinder" and pieces.mass is None):
        return Solid(shape=pieces.shape, thickness=thickness, width=width, length=length)
    middle = thickness.typical
    wide, long = _proportions(pieces, build, middle)
    if build.solid == "cylinder":
        return Solid(shape="cylinder", thickness=thickness, width=None, length=length or long * middle)
    wide, long = (width or wide * middle) / middle, (length or long * middle) / middle
    factor = sqrt(3.0 / (1.0 + wide**-2 + long**-2))
    return Solid(shape="sphere", thickness=thickness.times(factor), width=None, length=None)


def _proportions(pieces: PieceShape, build: Build, thickness: float) -> tuple[float, float]:
    """Width and length / thickness: those of the build, or scaled where both thickness and mass are written."""
    if pieces.mass is None or pieces.thickness.is_estimated:
        return build.width, build.length
    usual = _thickness(pieces, build, pieces.mass.middle)
    # The mass fixes width x length; a round cross-section stays round.
    scale = (usual / thickness) ** 3
    if build.width == 1.0:
        return 1.0, max(build.length * scale, 1.0)
    return max(build.width * sqrt(scale), 1.0), max(build.length * sqrt(scale), 1.0)


def _from_mass(pieces: PieceShape, mass: Quantity) -> Quantity:
    """Thickness of a piece of this mass by its build, as a range."""
    build = BUILDS[pieces.shape]
    low, high = (_thickness(pieces, build, each) for each in (mass.low, mass.high))
    low, high = low / build.spread, high * build.spread
    text = f"{low * 1000:.0f}-{high * 1000:.0f} mm"
    return Quantity(low=low, high=high, dimension="length", text=text, is_estimated=True)


def _thickness(pieces: PieceShape, build: Build, mass: float) -> float:
    # The bone of a joint lies at its edge, so only the flesh has to be heated through.
    flesh = 1.0 - BONE if pieces.bone == "in" and pieces.shape != "bird" else 1.0
    volume = mass * (STUFFED if pieces.form == "stuffed" else 1.0) * flesh / build.parts / DENSITY
    full = pi / 4 if build.solid == "cylinder" else pi / 6
    return float((volume / (full * build.width * build.length)) ** (1 / 3))


def _check_sizes(node: Table, reading: Reading) -> None:
    """Record a fault for a pieces block, or one of its sizes, whose thickness is neither written nor known by its mass."""
    entries = {name: value for name, _, value in node.entries}
    shape = entries.get("shape")
    by_mass = not isinstance(shape, Text) or shape.value in BUILDS
    sizes = entries.get("sizes")
    tables = [each for each in sizes.items if isinstance(each, Table)] if isinstance(sizes, List) else []
    for key, table in (("pieces", node), *(("pieces.sizes", each) for each in tables)):
        names = {name for name, _, _ in table.entries}
        if "thickness" not in names and not (by_mass and "mass" in names):
            or_mass = f"; or a mass, in the shapes {', '.join(BUILDS)}" if "mass" not in names else ""
            reading.fault(table.line, f"{key}.thickness", "nothing", LENGTHS + or_mass)
