"""Instruments for brine and their readings: hydrometer, salometer, Baumé, refractometer, density.

A hydrometer measures density and reads correctly only at the temperature of its scale; at other temperatures brine and
glass have expanded or contracted. SI units.
"""

from __future__ import annotations

import re

from msgspec import Struct

from handbook.base.errors import RangeError, UnitError
from handbook.base.units import parse_quantity
from handbook.brine import hydrometer_scales, refraction, solution

GLASS = 25e-6  # 1/K, cubic expansion of a hydrometer's glass [iso-1768]
SIXTY_FAHRENHEIT = hydrometer_scales.SIXTY_FAHRENHEIT
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
    "hydrometer": "specific gravity",
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


class InstrumentReading(Struct, frozen=True, kw_only=True):
    """One reading: ``value`` on ``scale``.

    ``temperature`` (K) is that of the brine, or of a refractometer's prism; None where it was not measured. ``step`` is
    the distance between two lines of the scale, in its own unit.
    """

    scale: str
    value: float
    temperature: float | None
    step: float
    text: str


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


def hydrometer_gravity(salt: float, sugar: float, temperature: float, calibration: float) -> float:
    """Specific gravity that a glass hydrometer shows in a brine.

        r = rho(T) / rho_w(T0) (1 + a (T - T0)), a the cubic expansion of its glass

    Parameters
    ----------
    salt, sugar : float [-]
        Mass fractions of the solution, within the solution limits.
    temperature : float [K]
        T of the brine, 273.15 to 313.15.
    calibration : float [K]
        T0 of the hydrometer's scale, 273.15 to 313.15.

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
    >>> round(hydrometer_gravity(0.10, 0.0, 278.15, SIXTY_FAHRENHEIT), 4)
    1.0764
    """
    glass = 1 + GLASS * (temperature - calibration)
    return solution.brine_density(salt, sugar, temperature) / solution.water_density(calibration) * glass


def density_of_gravity(gravity: float, temperature: float, calibration: float) -> float:
    """Density of a brine from the specific gravity that a hydrometer shows.

        rho = r rho_w(T0) / (1 + a (T - T0)), a the cubic expansion of its glass

    Parameters
    ----------
    gravity : float [-]
        Reading r.
    temperature : float [K]
        T of the brine.
    calibration : float [K]
        T0 of the hydrometer's scale, 273.15 to 313.15.

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
    >>> round(density_of_gravity(1.0764, 278.15, SIXTY_FAHRENHEIT), 1)
    1075.6
    """
    return gravity * solution.water_density(calibration) / (1 + GLASS * (temperature - calibration))


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


def _salometer_of(gravity: float, calibration: float) -> float:
    salt = hydrometer_scales.salt_from_density(gravity * solution.water_density(calibration), calibration)
    return hydrometer_scales.degrees_salometer(salt)
