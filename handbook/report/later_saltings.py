"""Equilibrium of later saltings, in which the food already contains salt."""

from __future__ import annotations

from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.brine.equilibrium import Equilibrium
from handbook.report.mixtures import SaltingReport
from handbook.report.salt_course import SaltCourse


def with_salt_so_far(saltings: tuple[SaltingReport, ...], salted: SaltCourse | None) -> tuple[SaltingReport, ...]:
    """The saltings, each after the first with the equilibrium of the run: a vinegar without salt draws it from salted fish."""
    if salted is None or len(saltings) < 2:
        return saltings
    met = {each.stage.name: each.equilibrium_salt_mass_fraction for each in salted.result.stages}
    first, *later = saltings
    return (first, *(replace(each, equilibrium=_met(each.equilibrium, met.get(each.mixture.name))) for each in later))


def _met(alone: Equilibrium, salt: Range | None) -> Equilibrium:
    """The same balance of water with the salt of the run.

    w' = x' / (x' + v), with v the water of the food at equilibrium
    """
    if salt is None:
        return alone
    x, w = alone.salt_mass_fraction.typical, alone.water_phase_salt.typical
    water = x * (1 - w) / w if w > 0 else 0.0
    if water <= 0:
        return alone
    strength = Range(*(each / (each + water) for each in salt.ends))
    has_bath = alone.bath_water_phase_salt is not None
    return replace(
        alone,
        salt_mass_fraction=salt,
        water_phase_salt=strength,
        bath_water_phase_salt=strength.typical if has_bath else None,
    )
