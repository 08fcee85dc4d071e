"""How strong a brine is, in every scale that a cook, an inspector or a hydrometer uses."""

from __future__ import annotations

from dataclasses import dataclass

from handbook.base.errors import RangeError
from handbook.brine import solution
from handbook.brine.make_up import MakeUp


@dataclass(frozen=True, kw_only=True)
class Strength:
    """One brine's figures. Fractions of the dissolved part (water, salt, sugars); None = outside a formula's range."""

    salt_mass_fraction: float
    water_phase_salt: float
    sugar_mass_fraction: float
    degrees_salometer: float | None
    specific_gravity: float | None
    degrees_baume: float | None
    freezing_point: float | None
    water_activity: float | None
    density: float | None
    is_saturated: bool


def strength(brine: MakeUp, temperature: float) -> Strength:
    """Strength of ``brine`` held at ``temperature`` in kelvin.

    Notes
    -----
    Sugars count as sucrose; what spices and acids give off is left out. Sources: see solution.py.
    """
    salt, sugar = brine.solution_salt, brine.solution_sugar
    gravity = _within(solution.specific_gravity, salt, sugar)
    return Strength(
        salt_mass_fraction=salt,
        water_phase_salt=brine.water_phase_salt,
        sugar_mass_fraction=sugar,
        degrees_salometer=_within(solution.degrees_salometer, salt),
        specific_gravity=gravity,
        degrees_baume=None if gravity is None else solution.degrees_baume(gravity),
        freezing_point=_within(solution.freezing_point, salt, sugar),
        water_activity=_within(solution.water_activity, salt, sugar),
        density=_within(solution.brine_density, salt, sugar, temperature),
        is_saturated=salt / (1 - sugar) > solution.salt_solubility(temperature),
    )


def _within(formula, *arguments: float) -> float | None:
    try:
        return formula(*arguments)
    except RangeError:
        return None
