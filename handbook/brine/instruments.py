"""What a reading says of a brine's strength: hydrometer, salometer, Baumé, refractometer, density.

A hydrometer floats by density, so it reads true only at the temperature of its scale: elsewhere brine and glass have
both moved. No single reading tells salt from sugar: a Proportion says what the recipe holds of each. SI units.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

from handbook.base.errors import RangeError, UnitError
from handbook.base.ranges import Range
from handbook.base.units import parse_quantity
from handbook.brine import refraction, solution

GLASS = 25e-6  # 1/K, cubic expansion of a hydrometer's glass [iso-1768]
SIXTY_FAHRENHEIT = solution.SIXTY_FAHRENHEIT
THERMOMETER = 1.0  # K, how far a kitchen thermometer may be off (common practice, no source)
UNMEASURED = 3.0  # K, how far the brine may be from what the method says, where nobody measured it (the same)
MIXTURE_DENSITY = 300.0  # kg/m3 times salt times sugar: how far two mixing rules stand apart, see brine_density
SALT_WARMTH = 0.25  # part of a refractometer's correction by which salt may differ from sugar [nacl-refraction-warmth]
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
    """One reading as taken: ``value`` on ``scale``, the brine's (a refractometer's: the prism's) temperature in K.

    ``temperature`` None: not measured. ``step`` is the distance of two lines of the scale, in its own unit.
    """

    scale: str
    value: float
    temperature: float | None
    step: float
    text: str


@dataclass(frozen=True, kw_only=True)
class Proportion:
    """Salt and sugar as the recipe has them, as fractions of water, salt and sugars together."""

    salt: float
    sugar: float

    @property
    def sugar_guesses(self) -> tuple[Callable[[float], float], ...]:
        """Salt fraction -> sugar fraction: both off together; then only the salt off, the sugar right for its water."""
        if not self.sugar:
            return (lambda salt: 0.0,)
        to_salt = self.sugar / self.salt if self.salt else 0.0
        to_water = self.sugar / (1 - self.salt - self.sugar)
        return (lambda salt: salt * to_salt, lambda salt: to_water * (1 - salt) / (1 + to_water))


def parse_reading(text: str, step: float | None = None) -> InstrumentReading:
    """A reading from words. Raises UnitError for what is none, RangeError for a value that no brine has.

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
    """One temperature in K; ``8 C`` and ``46F`` are read too. Raises UnitError."""
    quantity = parse_quantity(
        re.sub(r"\s*(?:°|deg)?\s*([CFcf])$", lambda match: f" °{match[1].upper()}", text), "temperature"
    )
    if quantity.is_range:
        raise UnitError(text, 'one temperature, such as "8 °C" or "60 °F"')
    return quantity.low


def hydrometer_gravity(
    salt: float, sugar: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT, expansion: float = GLASS
) -> float:
    """What a glass hydrometer shows in specific gravity, scaled at ``calibration`` K, in brine at ``temperature`` K.

    r = rho(T) / rho_water(T0) (1 + a (T - T0))

    Raises
    ------
    RangeError   as solution.brine_density

    Notes
    -----
    Archimedes' law: the floating mass stays, the glass's volume grows [iso-1768]. Surface tension is left out.
    """
    glass = 1 + expansion * (temperature - calibration)
    return solution.brine_density(salt, sugar, temperature) / solution.water_density(calibration) * glass


def density_of_gravity(
    gravity: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT, expansion: float = GLASS
) -> float:
    """Density in kg/m3 of the brine in which such a hydrometer shows ``gravity``: hydrometer_gravity turned round."""
    return gravity * solution.water_density(calibration) / (1 + expansion * (temperature - calibration))


def shown(scale: str, salt: float, sugar: float, temperature: float, calibration: float = SIXTY_FAHRENHEIT) -> float:
    """What an instrument shows in a brine at ``temperature`` K. RangeError where it is off the scale.

    A refractometer counts as one that corrects itself to 20 °C; ``calibration`` is that of a hydrometer.
    """
    if scale == "refractometer":
        return refraction.refractometer_brix(salt, sugar)
    if scale == "density":
        return solution.brine_density(salt, sugar, temperature) / 1000
    gravity = hydrometer_gravity(salt, sugar, temperature, calibration)
    if scale == "specific gravity":
        return gravity
    if scale == "Baumé":
        return solution.degrees_baume(gravity)
    return _salometer_of(gravity, calibration)


def salt_from_reading(
    reading: InstrumentReading,
    recipe: Proportion,
    brine_temperature: float,
    calibration: float = SIXTY_FAHRENHEIT,
    corrects_itself: bool = False,
) -> Range:
    """Salt as a fraction of water, salt and sugars, by one reading.

    Parameters
    ----------
    brine_temperature : K, where the reading names none
    calibration : K, of a hydrometer or salometer
    corrects_itself : a refractometer that brings its reading to 20 °C

    Raises
    ------
    RangeError   a reading that no brine of this kind gives, or a temperature outside 0 to 40 °C

    Notes
    -----
    Typical: salt and sugar off in the recipe's proportion. The ends take in half a step of the scale, the
    thermometer, sugar right and only salt off, and what is not known of mixtures. Sources: solution.py, refraction.py.
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
            continue  # an end past plain water or past saturation adds nothing
    return Range(min(found), typical, max(found))


def _temperatures(
    reading: InstrumentReading, brine_temperature: float, corrects_itself: bool
) -> tuple[float, tuple[float, ...]]:
    """The middle and the ends of what the temperature may have been, the ends kept inside the densities' range."""
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


def _solve(reading, value, temperature, calibration, guess, side, corrects_itself) -> float:
    """Salt at which the brine's own property is that of the reading; ``side`` -1 to 1 shifts what mixtures leave open."""
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
        return solution.gravity_from_baume(value)
    if scale == "salometer":
        salt = value * solution.SALT_PER_DEGREE
        return solution.brine_density(salt, 0.0, calibration) / solution.water_density(calibration)
    return value


def _salometer_of(gravity: float, calibration: float) -> float:
    salt = solution.salt_from_density(gravity * solution.water_density(calibration), calibration)
    return salt / solution.SALT_PER_DEGREE


def _dissolves(salt: float, sugar: float) -> bool:
    most_salt, most_sugar = (most * (1 - 1e-9) for most in (solution.MAX_SALT, solution.MAX_SUGAR))
    return sugar <= most_sugar * (1 - salt) and salt <= most_salt * (1 - sugar)


def _inverse(measured: Callable[[float], float], wanted: float, guess: Callable[[float], float], reading) -> float:
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
