"""Published cooking and cooling times compared with the heat model's, one row each.

The rows are in data/cooking_times.csv. The model gets each as from a page: a shape of the trade and a mass
where the source states no thickness, a word for the air where it states no speed, the usual spread of an oven. Of the
first ten sources in alphabetical order, the first, third, fifth … are for setting constants; the others are held out, and
so is every source that came later. Four assumptions were made with all sources in view: the spread of the shape
(HeatSpread.shape), _ABOVE, how the rows are written (see the head of the table), and that a tenderloin is longer than a
loin, whose proportions are from printed sizes. So the share of held-out times in the band is not a blind test.
"""

from __future__ import annotations

from functools import lru_cache
from typing import cast

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from handbook.base.csv_rows import number, read_table, word
from handbook.base.ranges import Range
from handbook.base.units import Quantity
from handbook.catalogue.tables import engine_tables
from handbook.heat.film import film_of_speed
from handbook.heat.heat_results import TimeReached
from handbook.heat.heat_run import run
from handbook.heat.heated_piece import BONE, COVERS, SKIN_OPEN, HeatPiece, HeatSpread, HeatStage
from handbook.heat.lethality import Organism
from handbook.page.piece_size import solid_of, with_sizes
from handbook.page.pieces import SHAPES, PieceShape
from handbook.page.steps import air_speed
from handbook.uncertainty.sampling import range_of

KINDS = ("roast", "simmer", "bath", "cool")
_TABLE, _LOSSES = "cooking_times.csv", "cooking_losses.csv"
_HOUR, _ZERO = 3600.0, 273.15
_LONGEST = 40 * _HOUR
_ABOVE = 3.0  # K; joints leave the cooker at 75 to 85 degC [burfoot-1990], their cooling is printed from about 70
_FALLING = 12 * _HOUR  # common practice, no source
#: Sources for setting constants: see the head of this module.
_SETTING = frozenset({"baldwin-guide", "davidson-2014", "fsgov-meat-2023", "fsis-chicken", "lowe-1937", "nlsmb"})
_CUT = 0.1  # deviation of a thickness as a kitchen states it (common practice, no source)
#: The constants that the author of the water-bath tables states: D [min] at a temperature [degC], z [K], log10 wanted.
_TARGETS = {
    "meat": ((13.18, 55, 7.58, 6.5), (12.66, 55, 9.22, 6.0), (19.35, 55, 4.87, 5.0)),
    "poultry": ((5.94, 60, 5.66, 6.0),),
    "lean fish": ((2.88, 60, 5.59, 6.0),),
    "fatty fish": ((5.13, 60, 5.68, 6.0),),
}


class CookingTime(Struct, frozen=True, kw_only=True):
    """One published time: the row as read, the ends of the printed time in s, and whether its source is held out."""

    key: str
    kind: str
    item: str
    source: str
    trust: str
    printed: Range
    row: dict[str, str]
    is_held_out: bool


class Predicted(Struct, frozen=True, kw_only=True):
    """The model's time in s for a published one."""

    published: CookingTime
    time: TimeReached

    @property
    def ratio(self) -> float:
        """Predicted / published, both typical; infinite where never reached."""
        return np.inf if self.time.typical is None else self.time.typical / self.published.printed.typical

    @property
    def is_close(self) -> bool:
        """Whether the prediction is within 20 % of the printed time, or of the nearer end of a printed range."""
        if self.time.typical is None:
            return False
        return 0.8 * self.published.printed.low <= self.time.typical <= 1.2 * self.published.printed.high

    @property
    def is_inside(self) -> bool:
        """Whether the middle of the printed time lies in the predicted band."""
        low, high = self.time.low, self.time.high
        middle = self.published.printed.typical
        return low is not None and low <= middle and (high is None or middle <= high)


@lru_cache
def cooking_times() -> tuple[CookingTime, ...]:
    """Every row of the table. Raises UnitError or RangeError for an invalid row."""
    rows = read_table(_TABLE)
    return tuple(_cooking_time({**row, "name": row["key"]}, row["source"] not in _SETTING) for row in rows)


class PrintedRow(Struct, frozen=True, kw_only=True):
    """One published figure that a row states: the row as read and the figure as printed."""

    item: str
    source: str
    trust: str
    printed: float
    row: dict[str, str]


def printed_rows(table: str, column: str, most: float) -> tuple[PrintedRow, ...]:
    """Every row of ``table`` with the figure of ``column``, 0 to ``most``. Raises UnitError or RangeError for an invalid row."""
    rows = [{**row, "name": row["item"]} for row in read_table(table)]
    return tuple(
        PrintedRow(
            item=row["item"], source=row["source"], trust=row["trust"], printed=number(row, column, 0.0, most), row=row
        )
        for row in rows
    )


@lru_cache
def cooking_losses() -> tuple[PrintedRow, ...]:
    """Every loss of weight in cooking, as a share of the raw mass."""
    return printed_rows(_LOSSES, "loss", 0.9)


def loss(published: PrintedRow, spread: HeatSpread | None = None) -> Range:
    """The model's loss of weight / raw weight for one published row.

    1 - m / m_raw, when the core is at the printed temperature

    Parameters
    ----------
    published : PrintedRow
    spread : HeatSpread

    Returns
    -------
    Range [-]

    Notes
    -----
    Source: each row's own. Valid for the assumptions at the head of this module.

    Examples
    --------
    >>> found = loss(cooking_losses()[0], HeatSpread(samples=0))
    >>> 0.05 < found.typical < 0.5
    True
    """
    row = {**published.row, "name": published.item}
    piece, size = cooked_piece(row)
    result = run(piece, cooking_stages(row, size, number(row, "core", -20.0, 110.0) + _ZERO), spread)
    return range_of(1.0 - result.samples.mass[:, -1])


def cooked_piece(row: dict[str, str]) -> tuple[HeatPiece, float]:
    """The piece of a row, and its thickness in m.

    No equation: the solid of ``solid_of``, flesh as the table of foods has it, and a start within 1.5 K.

    Parameters
    ----------
    row : dict of the table's columns

    Returns
    -------
    HeatPiece
    float [m]

    Notes
    -----
    Source: see the head of the tables. Valid for their rows.

    Examples
    --------
    >>> piece, size = cooked_piece(cooking_times()[0].row)
    >>> piece.bone, 0.1 < size < 0.3
    (0.15, True)
    """
    food = engine_tables().foods[row["food"]]
    pieces = with_sizes(_pieces(row))
    written = pieces.thickness
    part = 0.0 if written.is_estimated else _CUT
    solid = solid_of(pieces, Range(written.low * (1 - part), written.middle, written.high * (1 + part)))
    cooled = row["kind"] == "cool"
    start = number(row, "start", -30.0, 100.0) + _ZERO + (_ABOVE if cooled else 0.0)
    piece = HeatPiece(
        shape=solid.shape,
        thickness=solid.thickness,
        width=solid.width,
        length=solid.length,
        composition=food.composition,
        temperature=Range(start - 1.5, start, start + 1.5),
        open_fraction=SKIN_OPEN[row["skin"]],
        exudes="none" if cooled else "fish" if "fish" in row["item"] else "meat",
        fat_cap=number(row, "fat", 0.0, 50.0) / 1000 if row.get("fat") else 0.0,
        bone=BONE if (row["bone"] or ("in" if row["shape"] == "bird" else "out")) == "in" else 0.0,
    )
    return piece, solid.thickness.typical


def cooking_stages(row: dict[str, str], size: float, target: float | None) -> list[HeatStage]:
    """The heat of a row: one stage; two where the air falls from one temperature to another and stays there.

    No equation: a roast's oven is within 5 % of its excess over 20 degC, other media within 0.5 K.

    Parameters
    ----------
    row : dict of the table's columns
    size : float [m]
        Across the flow of air, where its speed is stated.
    target : float [K] or None
        The core at which the heat ends; None where a reduction of germs ends it.

    Returns
    -------
    list of HeatStage

    Notes
    -----
    Source: see the head of the tables. Valid for their rows.

    Examples
    --------
    >>> [each.medium for each in cooking_stages(cooking_times()[0].row, 0.1, 340.0)]
    ['air']
    """
    first, _, last = row["chamber"].partition(" to ")
    ends = [number({**row, "chamber": each}, "chamber", -30.0, 300.0) + _ZERO for each in (first, last) if each]
    speed, waits = air_speed(row["air"]), row["kind"] != "cool"
    spread = 0.05 * (ends[0] - 293.15) if row["kind"] == "roast" else 0.5
    air = "forced" if row["air"] == "forced" else "still" if row["medium"] == "water" or speed else row["air"]
    stages = [
        HeatStage(
            name=row["item"],
            medium=row["medium"],
            duration=_LONGEST,
            temperature=Range(max(end - spread, 272.15), max(end, 272.15), end + spread),
            air=air,
            heat_transfer_coefficient=film_of_speed(speed, size) if speed else None,
            cover=word(row, "cover", COVERS),
            until_core=target if waits else None,
            until_reduction=_organisms(row["item"]) if waits and target is None else (),
        )
        for end in ends
    ]
    if len(stages) == 2:
        stages[0] = replace(stages[0], duration=_FALLING, end_temperature=stages[1].temperature)
    return stages


def _cooking_time(row: dict[str, str], is_held_out: bool) -> CookingTime:
    low, high = (_HOUR * number(row, end, 0.01, 100.0) for end in ("low", "high"))
    return CookingTime(
        key=row["key"],
        kind=word(row, "kind", KINDS),
        item=row["item"],
        source=row["source"],
        trust=row["trust"],
        printed=Range(low, 0.5 * (low + high), high),
        row=row,
        is_held_out=is_held_out,
    )


def _pieces(row: dict[str, str]) -> PieceShape:
    mass = None
    if row["mass_low"]:
        low, high = (number(row, end, 0.001, 100.0) for end in ("mass_low", "mass_high"))
        mass = Quantity(low=low, high=high, dimension="mass")
    return PieceShape(
        shape=word(row, "shape", SHAPES),
        thickness=cast(Quantity, _length(row, "thickness")),  # with_sizes fills in what is missing
        width=_length(row, "width"),
        length=_length(row, "length"),
        mass=mass,
        skin=row["skin"],
        origin="unknown",
        form=row["form"],
        bone=row["bone"] or None,
        sizes=(),
        line=0,
    )


def _length(row: dict[str, str], name: str) -> Quantity | None:
    if not row[name]:
        return None
    value = number(row, name, 1.0, 1000.0) / 1000
    return Quantity(low=value, high=value, dimension="length")


def _organisms(item: str) -> tuple[Organism, ...]:
    kind = next(each for each in _TARGETS if item.startswith(each))
    return tuple(
        Organism(
            key="table",
            name="as the table states",
            food=kind,
            foods=(),
            reference_temperature=at + _ZERO,
            decimal_time=60.0 * minutes,
            segments=((_ZERO + 50.0, _ZERO + 80.0, z),),
            log10_target=wanted,
            source="baldwin-guide",
            trust="second-hand",
            note="",
        )
        for minutes, at, z, wanted in _TARGETS[kind]
    )
