"""Salt content of a brine from one instrument reading.

One reading cannot separate salt from sugar, so a Proportion states the recipe's share of each. SI units.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

from msgspec import Struct

from handbook.base.errors import RangeError
from handbook.base.ranges import Range
from handbook.base.root import rising_root
from handbook.brine import hydrometer_scales, refraction, solution
from handbook.brine.hydrometer_scales import SIXTY_FAHRENHEIT
from handbook.brine.instruments import InstrumentReading, density_of_gravity

THERMOMETER = 1.0  # K, error of a kitchen thermometer (common practice, no source)
UNMEASURED = 3.0  # K, difference from the method's temperature where it was not measured (common practice, no source)
MIXTURE_DENSITY = 300.0  # kg/m3 times salt times sugar: difference of two mixing rules, see brine_density
#: Most salt and sugar that a brine dissolves, a little less for rounding.
_MOST_SALT, _MOST_SUGAR = (most * (1 - 1e-9) for most in (solution.MAX_SALT, solution.MAX_SUGAR))
SALT_WARMTH = 0.25  # share of a refractometer's correction by which salt differs from sugar [nacl-refraction-warmth]


class Proportion(Struct, frozen=True, kw_only=True):
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


def salt_from_reading(
    reading: InstrumentReading,
    recipe: Proportion,
    brine_temperature: float,
    calibration: float = SIXTY_FAHRENHEIT,
    corrects_itself: bool = False,
) -> Range:
    """Salt fraction of a brine from one reading.

        property(salt, sugar(salt), T) = property(reading), solved for salt

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
    >>> from handbook.brine.instruments import parse_reading
    >>> found = salt_from_reading(parse_reading("SG 1.058 at 8 °C"), Proportion(salt=0.08, sugar=0.0), 278.15)
    >>> [round(each, 3) for each in found.ends]
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
    is_refractometer = reading.scale == "refractometer"
    if is_refractometer and (corrects_itself or reading.temperature is None):
        return 293.15, (293.15,)
    middle = brine_temperature if reading.temperature is None else reading.temperature
    limits = refraction if is_refractometer else solution
    low, high = limits.COLDEST, limits.WARMEST
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
    """Salt at which the brine has the measured property. ``side``, -1 to 1, shifts the unknown of mixtures."""
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


def _dissolves(salt: float, sugar: float) -> bool:
    return sugar <= _MOST_SUGAR * (1 - salt) and salt <= _MOST_SALT * (1 - sugar)


def _inverse(
    measured: Callable[[float], float], wanted: float, guess: Callable[[float], float], reading: InstrumentReading
) -> float:
    low, high = 0.0, solution.MAX_SALT
    while not _dissolves(high, guess(high)):
        high *= 0.999
    ends = measured(low), measured(high)
    slack = 1e-9 * abs(ends[1])
    if not ends[0] - slack <= wanted <= ends[1] + slack:
        allowed = "what lies between water and saturated brine"
        raise RangeError(f"reading on the scale {reading.scale}", reading.value, allowed)
    return rising_root(measured, wanted, low, high)
