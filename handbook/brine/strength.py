"""Strength of a brine in all scales that cooks, inspectors and hydrometers use."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.brine import solution
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import instrument_value
from handbook.brine.make_up import IngredientMass, MakeUp

#: Other dissolved matter / (salt + sugars) above which a reading does not measure salt and sugar.
FOREIGN = 0.05
#: K: brine outside these is read at 60 degF.
_READ_BETWEEN = (solution.COLDEST, solution.WARMEST)


class Readings(Struct, frozen=True, kw_only=True):
    """What instruments show in one brine at ``temperature`` (K); None where the brine is off the scale.

    Hydrometer, salometer and Baumé scale are made for 60 degF and respond to sugar as well as salt. The refractometer's
    °Brix are those at 20 degC.
    """

    temperature: float
    specific_gravity: float | None
    salometer: float | None
    baume: float | None
    brix: float | None


class Strength(Struct, frozen=True, kw_only=True):
    """Figures of one brine; None where a formula is out of range.

    ``salt_mass_fraction`` and ``sugar_mass_fraction`` are of the whole brine without the solids of its spices, ``water_phase_salt`` of
    salt and water. ``freezing_point`` in K, ``water_activity`` at 25 degC, ``density`` in kg/m3. ``readings`` are those at
    the brine's own temperature, ``at_scale`` those at 60 degF; None where an instrument cannot show the strength, for
    the reason ``unread``.
    """

    salt_mass_fraction: float
    water_phase_salt: float
    sugar_mass_fraction: float
    readings: Readings | None
    at_scale: Readings | None
    unread: str
    freezing_point: float | None
    water_activity: float | None
    density: float | None
    is_saturated: bool

    @property
    def every_reading(self) -> tuple[Readings, ...]:
        """The readings at the brine's own temperature and at that of the scales; one where the two are the same."""
        found = [each for each in (self.readings, self.at_scale) if each is not None]
        return tuple({each.temperature: each for each in found}.values())


def strength(brine: MakeUp, temperature: float) -> Strength:
    """Strength of a brine in all scales.

        salt = S / (M - solids of spices),  water-phase salt = S / (S + W);  the readings as instruments.instrument_value

    Parameters
    ----------
    brine : MakeUp [kg]
    temperature : float [K]
        Temperature of the brine, 252.03 to 373.15. The density is None outside 273.15 to 313.15.

    Returns
    -------
    Strength

    Raises
    ------
    RangeError
        The temperature lies outside the range of ``salt_solubility``.

    Notes
    -----
    Source: mass balance; scales and properties as in hydrometer_scales.py and solution.py, and valid where they are.
    Sugars count as sucrose. The solids of spices are left out; acids, alcohol and other solutes count in the salt share,
    and not in the properties of the solution of salt and sugar.

    Examples
    --------
    >>> from handbook.base.units import parse_quantity
    >>> from handbook.brine.made_up import make_up
    >>> from handbook.catalogue.tables import engine_tables
    >>> from handbook.page.salting import IngredientLine
    >>> tables = engine_tables()
    >>> lines = [
    ...     IngredientLine(item=item, amount=parse_quantity(mass, "mass"), note="", line=1)
    ...     for item, mass in (("water, tap", "900 g"), ("salt, fine sea", "100 g"))
    ... ]
    >>> cod = tables.foods["cod, Atlantic"]
    >>> brine = make_up(lines, lambda line: tables.ingredients[line.item], cod, food_mass=1.0)
    >>> found = strength(brine, 278.15)
    >>> round(found.salt_mass_fraction, 4), round(found.at_scale.salometer, 1), found.is_saturated
    (0.0985, 37.4, False)
    """
    salt, sugar = brine.solution_salt, brine.solution_sugar
    is_saturated = salt / (1 - sugar) > solution.salt_solubility(temperature)
    unread = "more salt than dissolves" if is_saturated else _unread(brine)
    read_at = temperature if _READ_BETWEEN[0] <= temperature <= _READ_BETWEEN[1] else SIXTY_FAHRENHEIT
    return Strength(
        salt_mass_fraction=brine.brine_salt,
        water_phase_salt=brine.water_phase_salt,
        sugar_mass_fraction=brine.brine_sugar,
        readings=None if unread else readings(salt, sugar, read_at),
        at_scale=None if unread else readings(salt, sugar, SIXTY_FAHRENHEIT),
        unread=unread,
        freezing_point=_within(solution.freezing_point, salt, sugar),
        water_activity=_within(solution.water_activity, salt, sugar),
        density=_within(solution.brine_density, salt, sugar, temperature),
        is_saturated=is_saturated,
    )


def readings(salt: float, sugar: float, temperature: float) -> Readings:
    """What instruments made for 60 degF show in a brine.

    No equation: ``instruments.instrument_value`` of each scale.

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution.
    temperature : float [K]
        Temperature of the brine.

    Returns
    -------
    Readings

    Notes
    -----
    Source: as ``instruments.instrument_value``. Valid for 0 to 40 degC; outside, and off a scale, the value is None.

    Examples
    --------
    Sugar raises the reading of a salometer:

    >>> [round(readings(0.10, sugar, 288.7056).salometer, 1) for sugar in (0.0, 0.05)]
    [37.9, 49.2]
    """
    gravity, salometer, baume, brix = (
        _within(instrument_value, scale, salt, sugar, temperature)
        for scale in ("specific gravity", "salometer", "Baumé", "refractometer")
    )
    return Readings(temperature=temperature, specific_gravity=gravity, salometer=salometer, baume=baume, brix=brix)


def foreign_matter(part: IngredientMass) -> float:
    """Dissolved matter of a liquid, sauce or additive besides water, salt and sugars.

        f = m (1 - w - s - k), 0 for water, spices, salts and sweeteners

    Parameters
    ----------
    part : IngredientMass [kg]

    Returns
    -------
    float [kg]

    Notes
    -----
    Source: the contents of the ingredient. Valid for every ingredient.

    Examples
    --------
    >>> from handbook.catalogue.tables import engine_tables
    >>> vinegar = engine_tables().ingredients["vinegar, distilled 5 %"]
    >>> from handbook.base.ranges import Range
    >>> part = IngredientMass(ingredient=vinegar, mass=Range.exact(1.0), written="", by_volume=False, note="")
    >>> round(foreign_matter(part), 2)
    0.05
    """
    each = part.ingredient
    if each.kind not in ("liquid", "seasoning", "additive") or each.name.startswith("water"):
        return 0.0
    return part.mass.typical * max(1 - each.water - each.salt - each.sugars, 0.0)


def foreign_names(brine: MakeUp) -> tuple[str, ...]:
    """The ingredients whose other solutes change a reading.

        f > 0.05 (S + K)

    Parameters
    ----------
    brine : MakeUp [kg]

    Returns
    -------
    tuple of str

    Notes
    -----
    Source: common practice, no source. Valid for every brine.

    Examples
    --------
    >>> foreign_names(MakeUp(parts=()))
    ()
    """
    dissolved = brine.total("salt") + brine.total("sugars")
    return tuple(part.ingredient.name for part in brine.parts if foreign_matter(part) > FOREIGN * dissolved)


def _unread(brine: MakeUp) -> str:
    names = foreign_names(brine)
    return f"other solutes of {', '.join(names)} change a reading" if names else ""


def _within(formula: Callable[..., float], *arguments: float | str) -> float | None:
    try:
        return formula(*arguments)
    except RangeError:
        return None
