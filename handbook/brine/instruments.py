"""Salt content of a brine from one reading: hydrometer, salometer, Baumé, refractometer, density.

A hydrometer measures density and reads correctly only at the temperature of its scale; at others both brine and glass
have expanded or contracted. One reading cannot separate salt from sugar, so a Proportion states what the recipe holds
of each. SI units.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

from handbook.base.errors import RangeError, UnitError
from handbook.base.ranges import Range
from handbook.base.units import parse_quantity
from handbook.brine import hydrometer_scales, refraction, solution

GLASS = 25e-6  # 1/K, cubic expansion of a hydrometer's glass [iso-1768]
SIXTY_FAHRENHEIT = hydrometer_scales.SIXTY_FAHRENHEIT
THERMOMETER = 1.0  # K, error of a kitchen thermometer (common practice, no source)
UNMEASURED = 3.0  # K, difference from the method's temperature where it was not measured (common practice, no source)
MIXTURE_DENSITY = 300.0  # kg/m3 times salt times sugar: difference of two mixing rules, see brine_density
SALT_WARMTH = 0.25  # share of a refractometer's correction by which salt differs from sugar [nacl-refraction-warmth]
#: Scale -> its usual step (common practice, no source), unit as shown, decimals, source of its definition.
SCALES = {
    "specific gravity": (0.002, "", 3, "salometer-definition"),
    "salometer": (1.0, "°", 0, "salometer-definition"),
    "Baumé": (0.2, "°", 1, "baume-definition"),
    "refractometer": (0.2, " °Brix", 1, "icumsa-refraction"),
    "density": (0.001, " kg/L", 3, "rogers-pitzer-1982"),
}

_NAMES = {
    "sg": "specific gravity",
    "specific gravity": "specific gravity",
    "gravity": "specific gravity",
    "salometer": "salometer",
    "degrees salometer": "salometer",
    "baumé": "Baumé",
    "baume": "Baumé",
    "degrees baumé": "Baumé",
    "brix": "refractometer",
    "degrees brix": "refractometer",
    "refractometer": "refractometer",
    "kg/l": "density",
    "g/ml": "density",
    "density kg/l": "density",
}
_READING = re.compile(r"(?P<before>[^\d.]*?)\s*(?P<value>\d{1,3}(?:\.\d{1,5})?)\s*(?P<after>[^\d]*)")
_ALLOWED = (
    'a reading and where it was taken, such as "SG 1.058 at 8 °C", "55 salometer at 46 °F", "Baumé 12.4 at 8 °C", '
    '"Brix 16.2" or "1.071 kg/L at 8 °C"'
)


@dataclass(frozen=True, kw_only=True)
class InstrumentReading:
    """One reading: ``value`` on ``scale``.

    ``temperature`` (K) is that of the brine, or of a refractometer's prism; None where it was not measured. ``step`` is
    the distance between two lines of the scale, in its own unit.
    """

    scale: str
    value: float
    temperature: float | None
    step: float
    text: str


@dataclass(frozen=True, kw_only=True)
class Proportion:
    """Salt and sugar of the recipe, as fractions of the sum of water, salt and sugars."""

    salt: float
    sugar: float

    @property
    def sugar_guesses(self) -> tuple[Callable[[float], float], ...]:
        """Functions from salt fraction to sugar fraction for a brine that is off the recipe.

        First: salt and sugar are off in proportion. Second: only the salt is off, and sugar per water is right.
        """
        if not self.sugar:
            return (lambda salt: 0.0,)
        to_salt = self.sugar / self.salt if self.salt else 0.0
        to_water = self.sugar / (1 - self.salt - self.sugar)
        return (lambda salt: salt * to_salt, lambda salt: to_water * (1 - salt) / (1 + to_water))


def parse_reading(text: str, step: float | None = None) -> InstrumentReading:
    """Read an instrument reading from text.

    No equation: a parser.

    Parameters
    ----------
    text : str
        Scale, value and, after "at", the temperature.
    step : float, in the unit of the scale
        Distance between two lines of the scale; by default the usual one.

    Returns
    -------
    InstrumentReading

    Raises
    ------
    UnitError
        The text is not a reading.
    RangeError
        No brine has this value.

    Notes
    -----
    Source: usual steps by common practice, see SCALES. Valid for the scales of SCALES.

    Examples
    --------
    >>> parse_reading("SG 1.058 at 8 C").scale
    'specific gravity'
    """
    bare, _, place = (part.strip() for part in " ".join(text.split()).partition(" at "))
    match = _READING.fullmatch(bare.replace("°", " ")) if len(text) <= 100 else None
    if match is None or (" at" in text and not place):
        raise UnitError(text, _ALLOWED)
    words = " ".join(f"{match['before']} {match['after']}".casefold().split())
    scale = _NAMES.get(words)
    if scale is None:
        raise UnitError(text, _ALLOWED)
    value, usual = float(match["value"]), SCALES[scale][0]
    limits = {"specific gravity": (0.99, 1.35), "salometer": (0, 105), "Baumé": (-0.5, 40), "refractometer": (0, 60)}
    low, high = limits.get(scale, (0.98, 1.35))
    if not low <= value <= high:
        raise RangeError(scale, value, f"{low:g} to {high:g}")
    temperature = None if not place else parse_temperature(place)
    return InstrumentReading(
        scale=scale, value=value, temperature=temperature, step=step or usual, text=" ".join(text.split())
    )


def parse_temperature(text: str) -> float:
    """Read one temperature from text; ``8 C`` and ``46F`` are accepted too.

        T = t + 273.15,  or T = (t + 459.67) / 1.8 for °F

    Parameters
    ----------
    text : str

    Returns
    -------
    float [K]

    Raises
    ------
    UnitError
        The text is not one temperature.

    Notes
    -----
    Source: definition of the scales. Valid above absolute zero.

    Examples
    --------
    >>> round(parse_temperature("46F"), 2)
    280.93
    """
    quantity = parse_quantity(
        re.sub(r"\s*(?:°|deg)?\s*([CFcf])$", lambda match: f" °{match[1].upper()}", text), "temperature"
    )
    if quantity.is_range:
        raise UnitError(text, 'one temperature, such as "8 °C" or "60 °F"')
    return quantity.low


def hydrometer_gravity(
    salt: float, sugar: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT, expansion: float = GLASS
) -> float:
    """Specific gravity that a glass hydrometer shows in a brine.

        r = rho(T) / rho_w(T0) (1 + a (T - T0))

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, within the solution limits.
    temperature : float [K]
        T of the brine, 273.15 to 313.15.
    calibration : float [K]
        T0 of the hydrometer's scale, 273.15 to 313.15.
    expansion : float [1/K]
        Cubic expansion a of its glass.

    Returns
    -------
    float [-]

    Raises
    ------
    RangeError
        A fraction or a temperature lies outside its limits.

    Notes
    -----
    Source: Archimedes' law for a constant mass; expansion of glass from [iso-1768]. Valid for 0 to 40 degC. Surface
    tension is ignored.

    Examples
    --------
    >>> round(hydrometer_gravity(0.10, 0.0, 278.15), 4)
    1.0764
    """
    glass = 1 + expansion * (temperature - calibration)
    return solution.brine_density(salt, sugar, temperature) / solution.water_density(calibration) * glass


def density_of_gravity(
    gravity: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT, expansion: float = GLASS
) -> float:
    """Density of a brine from the specific gravity that a hydrometer shows.

        rho = r rho_w(T0) / (1 + a (T - T0))

    Parameters
    ----------
    gravity : float [-]
        Reading r.
    temperature : float [K]
        T of the brine.
    calibration : float [K]
        T0 of the hydrometer's scale, 273.15 to 313.15.
    expansion : float [1/K]
        Cubic expansion a of its glass.

    Returns
    -------
    float [kg/m3]

    Raises
    ------
    RangeError
        The calibration temperature lies outside its limits.

    Notes
    -----
    Source: inverse of ``hydrometer_gravity``; expansion of glass from [iso-1768]. Valid for 0 to 40 degC.

    Examples
    --------
    >>> round(density_of_gravity(1.0764, 278.15), 1)
    1075.6
    """
    return gravity * solution.water_density(calibration) / (1 + expansion * (temperature - calibration))


def instrument_value(
    scale: str, salt: float, sugar: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT
) -> float:
    """Value that an instrument shows in a brine.

    No equation: the function of the scale.

    Parameters
    ----------
    scale : str
        A key of SCALES.
    salt, sugar : float [-]
        Mass fractions of the solution, within the solution limits.
    temperature : float [K]
        Temperature of the brine. A refractometer is assumed to correct itself to 20 degC.
    calibration : float [K]
        Temperature of a hydrometer's or salometer's scale.

    Returns
    -------
    float, in the unit of the scale

    Raises
    ------
    RangeError
        The value is off the scale, or an argument lies outside its limits.

    Notes
    -----
    Source: as ``hydrometer_gravity``, ``degrees_baume``, ``salt_from_density``, ``refractometer_brix``. Valid for 0 to
    40 degC.

    Examples
    --------
    >>> round(instrument_value("salometer", 0.10, 0.0, 288.7056), 1)
    37.9
    """
    if scale == "refractometer":
        return refraction.refractometer_brix(salt, sugar)
    if scale == "density":
        return solution.brine_density(salt, sugar, temperature) / 1000
    gravity = hydrometer_gravity(salt, sugar, temperature, calibration)
    if scale == "specific gravity":
        return gravity
    if scale == "Baumé":
        return hydrometer_scales.degrees_baume(gravity)
    return _salometer_of(gravity, calibration)


def salt_from_reading(
    reading: InstrumentReading,
    recipe: Proportion,
    brine_temperature: float,
    calibration: float = SIXTY_FAHRENHEIT,
    corrects_itself: bool = False,
) -> Range:
    """Salt fraction of a brine from one reading.

        property(salt, sugar(salt), T) = property(reading), solved for salt by bisection

    The property is density, or refractive index on the scale of a refractometer.

    Parameters
    ----------
    reading : InstrumentReading
    recipe : Proportion [-]
        Salt and sugar that the brine should have.
    brine_temperature : float [K]
        Used where the reading states no temperature.
    calibration : float [K]
        Temperature of a hydrometer's or salometer's scale.
    corrects_itself : bool
        Whether a refractometer corrects its reading to 20 degC.

    Returns
    -------
    Range [-]
        Salt / (water + salt + sugars). Typical: salt and sugar off in proportion. The ends include half a step of the
        scale, the error of the thermometer, a brine with only the salt off, and the uncertainty of mixtures.

    Raises
    ------
    RangeError
        No brine of this recipe gives the reading, or a temperature lies outside its limits.

    Notes
    -----
    Source: as ``brine_density``, ``density_of_gravity`` and ``refractive_index``. Valid for 0 to 40 degC, and 5 to
    25 degC for a refractometer that does not correct itself.

    Examples
    --------
    >>> found = salt_from_reading(parse_reading("SG 1.058 at 8 °C"), Proportion(salt=0.08, sugar=0.0), 278.15)
    >>> [round(each, 3) for each in (found.low, found.typical, found.high)]
    [0.075, 0.077, 0.078]
    """
    guesses = recipe.sugar_guesses
    middle, spread = _temperatures(reading, brine_temperature, corrects_itself)
    typical = _solve(reading, reading.value, middle, calibration, guesses[0], 0.0, corrects_itself)
    values = (reading.value - reading.step / 2, reading.value + reading.step / 2)
    unknown = (-1.0, 1.0) if recipe.sugar or reading.scale == "refractometer" else (0.0,)
    found = [typical]
    for value, temperature, guess, side in product(values, spread, guesses, unknown):
        try:
            found.append(_solve(reading, value, temperature, calibration, guess, side, corrects_itself))
        except RangeError:
            continue  # an end beyond plain water or saturation
    return Range(min(found), typical, max(found))


def _temperatures(
    reading: InstrumentReading, brine_temperature: float, corrects_itself: bool
) -> tuple[float, tuple[float, ...]]:
    """Typical temperature and its two ends, in K, clipped to the range of the equations."""
    if reading.scale == "refractometer" and (corrects_itself or reading.temperature is None):
        return 293.15, (293.15,)
    middle = brine_temperature if reading.temperature is None else reading.temperature
    low, high = (
        (refraction.COLDEST, refraction.WARMEST)
        if reading.scale == "refractometer"
        else (solution.COLDEST, solution.WARMEST)
    )
    if not low <= middle <= high:
        raise RangeError("temperature of the reading", middle - 273.15, f"{low - 273.15:g} to {high - 273.15:g} °C")
    off = UNMEASURED if reading.temperature is None else THERMOMETER
    return middle, (max(middle - off, low), min(middle + off, high))


def _solve(
    reading: InstrumentReading,
    value: float,
    temperature: float,
    calibration: float,
    guess: Callable[[float], float],
    side: float,
    corrects_itself: bool,
) -> float:
    """Salt at which the brine has the property that was read. ``side``, -1 to 1, shifts the unknown of mixtures."""
    if reading.scale == "refractometer":
        if not corrects_itself and reading.temperature is not None:
            value += refraction.temperature_correction(value, temperature) * (1 + side * SALT_WARMTH)

        def measured(salt: float) -> float:
            sugar = guess(salt)
            index = refraction.refractive_index(salt, sugar) + side * refraction.MIXTURE_SPREAD * salt * sugar
            return refraction.brix_of_index(index)

        return _inverse(measured, value, guess, reading)
    if reading.scale == "density":
        wanted = value * 1000
    else:
        wanted = density_of_gravity(_gravity(reading.scale, value, calibration), temperature, calibration)

    def density(salt: float) -> float:
        sugar = guess(salt)
        return solution.brine_density(salt, sugar, temperature) + side * MIXTURE_DENSITY * salt * sugar

    return _inverse(density, wanted, guess, reading)


def _gravity(scale: str, value: float, calibration: float) -> float:
    if scale == "Baumé":
        return hydrometer_scales.gravity_from_baume(value)
    if scale == "salometer":
        salt = value * hydrometer_scales.SALT_PER_DEGREE
        return solution.brine_density(salt, 0.0, calibration) / solution.water_density(calibration)
    return value


def _salometer_of(gravity: float, calibration: float) -> float:
    salt = hydrometer_scales.salt_from_density(gravity * solution.water_density(calibration), calibration)
    return salt / hydrometer_scales.SALT_PER_DEGREE


def _dissolves(salt: float, sugar: float) -> bool:
    most_salt, most_sugar = (most * (1 - 1e-9) for most in (solution.MAX_SALT, solution.MAX_SUGAR))
    return sugar <= most_sugar * (1 - salt) and salt <= most_salt * (1 - sugar)


def _inverse(
    measured: Callable[[float], float], wanted: float, guess: Callable[[float], float], reading: InstrumentReading
) -> float:
    low, high = 0.0, solution.MAX_SALT
    while not _dissolves(high, guess(high)):
        high *= 0.999
    ends = measured(low), measured(high)
    slack = 1e-9 * abs(ends[1])
    if not ends[0] - slack <= wanted <= ends[1] + slack:
        raise RangeError(
            f"reading on the scale {reading.scale}", reading.value, "what lies between water and saturated brine"
        )
    for _ in range(48):
        middle = (low + high) / 2
        low, high = (middle, high) if measured(middle) < wanted else (low, middle)
    return (low + high) / 2
