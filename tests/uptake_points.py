"""Every published point beside the uptake model: predicted, printed, within 20 % or not, within the band or not.

Printed figures are in tests/published and in the handbook's own table of findings. What a finding leaves open (a shape, a
temperature) is assumed here, named in ``basis``, and not tuned.
"""

from __future__ import annotations

from math import pi

import numpy as np
from msgspec import Struct

from handbook.base.ranges import Range
from handbook.report.usual_gain import usual_gain
from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
from handbook.salt.uptake import Piece, Spread, Stage, run
from handbook.validation.uptake_comparisons import uptake_standings
from tests.published import rows

exact = Range.exact
HOUR = 3600.0


class Point(Struct, frozen=True, kw_only=True):
    """One printed figure with its ends, and the model's figure with its band, in one unit.

    is_measured : in food; else a time that the trade plans by, which has a margin in it and follows no law of diffusion
    is_held_out : no constant rests on it; the basis of a comparison says where one does
    """

    name: str
    printed: Range
    predicted: Range
    unit: str
    basis: str
    is_measured: bool = True
    is_held_out: bool = True

    @property
    def is_near(self) -> bool:
        """Whether the typical figure lies within 20 % of the printed one, or of the printed range."""
        return 0.8 * self.printed.low <= self.predicted.typical <= 1.2 * self.printed.high

    @property
    def is_in_band(self) -> bool:
        """Whether the model's band meets what is printed."""
        return self.predicted.low <= self.printed.high and self.printed.low <= self.predicted.high


def points() -> list[Point]:
    """All points: findings, then rules of the trade, as the validation page has them, then those of the tests alone."""
    found = [
        Point(
            name=each.label,
            printed=each.finding.figure,
            predicted=each.model,
            unit=each.unit,
            basis=each.basis,
            is_held_out="no independent check" not in each.basis,
            is_measured=each.finding.kind == "finding" and each.finding.source != "smoking-times-quoted",
        )
        for each in uptake_standings()
        if each.model is not None and each.finding.figure is not None and np.isfinite(each.finding.figure.high)
    ]
    return [*found, *_cheeses(), _herring()]


#: key, mass in kg, height / diameter, water, hours: usual shapes and moistures (common practice, no source).
_CHEESES = (
    ("cheese_grana", 45.0, 0.5, 0.38, 504.0),
    ("cheese_emmental", 100.0, 0.22, 0.39, 72.0),
    ("cheese_gouda_small", 2.0, 0.4, 0.44, 24.0),
    ("cheese_gouda_large", 12.0, 0.33, 0.44, 72.0),
    ("cheese_camembert_small", 0.1, 0.3, 0.58, 0.5),
    ("cheese_camembert_large", 1.0, 0.12, 0.58, 3.0),
)


def _cheeses() -> list[Point]:
    found = []
    for key, mass, flatness, water, hours in _CHEESES:
        diameter = (4 * mass / 1070 / pi / flatness) ** (1 / 3)
        height = flatness * diameter
        # The engine's block with the area of the disc: open on all sides.
        side = diameter * (pi / 4) ** 0.5
        cheese = Piece(
            shape="block",
            thickness=Range(0.95 * height, height, 1.05 * height),
            width=side,
            length=side,
            water_fraction=Range(water - 0.02, water, water + 0.02),
            native_salt_fraction=exact(0.0005),
            salt_diffusivity=salt_diffusivity("cheese"),
            sugar_diffusivity=sugar_diffusivity("cheese"),
        )
        brine = Stage(
            kind="soak",
            duration=exact(hours * HOUR),
            temperature=Range(283.15, 285.65, 288.15),
            bath_water=exact(4 * 0.79),
            bath_salt=exact(4 * 0.21),
            weight_gain=usual_gain("cheese", 0.21),
        )
        salt = run(cheese, [brine], Spread(samples=64)).end.salt_mass_fraction.times(100)
        found.append(_point(key, salt, f"{1000 * height:.0f} mm high, {100 * water:.0f} % water"))
    return found


def _herring() -> Point:
    found = [usual_gain("fish", strength) for strength in (0.10, 0.165, 0.255)]
    gain = Range(100 * min(each.low for each in found), 100 * found[1].typical, 100 * max(each.high for each in found))
    return _point("herring_gain", gain, "the handbook's usual gain of fish over these strengths")


def _point(key: str, predicted: Range, basis: str) -> Point:
    row = next(each for each in rows("salt_uptake.csv") if each["key"] == key)
    if row["value"]:
        printed = exact(float(row["value"]))
    else:
        low, high = float(row["low"]), float(row["high"])
        printed = Range(low, (low * high) ** 0.5, high)
    return Point(name=row["what"], printed=printed, predicted=predicted, unit=row["unit"], basis=basis)
