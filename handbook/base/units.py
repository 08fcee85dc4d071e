"""A strict parser of written quantities.

A text is one number (or a range of two) and one known unit. Pint converts but never parses: it reads ``1,5 kg``
as 15 kg, ``F`` as farad and ``1 h 30 min`` as hour times minute.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from msgspec import Struct

from handbook.base.did_you_mean import nearest
from handbook.base.errors import UnitError

MEASURES = ("us", "metric", "imperial")
_SI = {"mass": "kg", "volume": "m**3", "length": "m", "time": "s", "temperature": "kelvin", "fraction": ""}
#: Unit as written, which pint reads by itself -> its dimension.
_UNITS = {
    unit: dimension
    for dimension, units in {
        "mass": "kg g mg lb oz",
        "volume": "l L dl dL ml mL",
        "length": "m cm mm in inch",
        "time": "s min h hour hours day days d week weeks month months",
        "temperature": "°C °F degC degF",
        "fraction": "% ppm",
    }.items()
    for unit in units.split()
}
#: Cooks' spelling of a unit -> the unit above, where the meaning is certain. In a kitchen C and F are not coulomb and
#: farad.
_SPELLINGS = {
    "C": "°C", "F": "°F", "ºC": "°C", "ºF": "°F", "℃": "°C", "℉": "°F", "deg C": "°C", "deg F": "°F", "degrees C": "°C", "degrees F": "°F",
    "celsius": "°C", "fahrenheit": "°F", "degrees celsius": "°C", "degrees fahrenheit": "°F",
    "kgs": "kg", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg",
    "gram": "g", "grams": "g", "gm": "g", "gms": "g", "gr": "g", "milligram": "mg", "milligrams": "mg",
    "lbs": "lb", "pound": "lb", "pounds": "lb", "ounce": "oz", "ounces": "oz",
    "liter": "L", "liters": "L", "litre": "L", "litres": "L", "ltr": "L", "mls": "mL",
    "milliliter": "mL", "milliliters": "mL", "millilitre": "mL", "millilitres": "mL", "cc": "mL",
    "inches": "in", '"': "in", "”": "in", "″": "in", "millimeter": "mm", "millimeters": "mm", "millimetre": "mm", "millimetres": "mm",
    "centimeter": "cm", "centimeters": "cm", "centimetre": "cm", "centimetres": "cm",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min", "minutes": "min",
    "hr": "h", "hrs": "h", "wk": "week", "wks": "weeks", "mo": "month",
    "percent": "%", "per cent": "%", "pct": "%",
    "gal": "gallon", "gals": "gallon", "qt": "quart", "qts": "quart", "pt": "pint", "pts": "pint",
    "floz": "fl oz", "fl. oz.": "fl oz", "fl. oz": "fl oz", "fluid ounce": "fl oz", "fluid ounces": "fl oz",
    "tbs": "tbsp", "tbsps": "tbsp", "tblsp": "tbsp", "tsps": "tsp", "c.": "cup",
}  # fmt: skip
#: Words of a time that state no length, and the question to the cook.
_ASKED = {
    "overnight": 'how long the night is, such as "10-14 h"',
    "all day": 'how long the day is, such as "8-10 h"',
    "all night": 'how long the night is, such as "10-14 h"',
}
#: The temperature of a room is the house's own.
_ASKED_TEMPERATURES = {
    each: 'the temperature of that room, such as "18-22 °C" or "64-72 °F"'
    for each in ("room", "room temperature", "room temp", "ambient", "shelf")
}
#: Kitchen measure as written -> its name in the registry, without its country.
_KITCHEN = {
    "tsp": "teaspoon", "teaspoon": "teaspoon", "teaspoons": "teaspoon",
    "tbsp": "tablespoon", "tablespoon": "tablespoon", "tablespoons": "tablespoon",
    "cup": "cup", "cups": "cup", "fl oz": "fluid_ounce", "pint": "pint", "pints": "pint",
    "quart": "quart", "quarts": "quart", "gallon": "gallon", "gallons": "gallon",
}  # fmt: skip
#: The kitchen measures that metric kitchens have.
_METRIC = ("teaspoon", "tablespoon", "cup")
_EXAMPLES = {
    "mass": '"1.5 kg" or "12 oz"',
    "volume": '"2 L" or "1 1/2 cup"',
    "length": '"20 mm" or "3/4 in"',
    "time": '"90 min" or "12-24 h"',
    "temperature": '"77 °C" or "170 °F"',
    "fraction": '"2.5 %"',
}
_FRACTION = re.compile(r"(\d?)\s*([½⅓⅔¼¾⅛⅜⅝⅞⅕⅙])")
_NUMBER = r"[-−]?(?:\d{1,9} +\d{1,4}/\d{1,4}|\d{1,4}/\d{1,4}|\d{1,9}(?:\.\d{1,9})?)"
#: Hours and minutes, or pounds and ounces, written one after the other.
_TWO_UNITS = re.compile(
    r"(?P<whole>\d{1,4}) ?(?P<unit>h|hr|hrs|hour|hours|lb|lbs|pound|pounds)(?:,| and)? (?P<part>\d{1,2}) ?(?P<small>min|mins|minute|minutes|oz|ounce|ounces)",
    re.ASCII,
)
_QUANTITY = re.compile(
    rf"(?P<low>{_NUMBER})(?:\s*(?:-|–|—|to)\s*(?P<high>{_NUMBER}))?\s*(?P<unit>[^\d\s].*)?", re.ASCII
)


class Quantity(Struct, frozen=True, kw_only=True):
    """One quantity or range: SI floats and the text it was read from.

    ``low`` and ``high`` are in kg, m3, m, s, K or a plain fraction, by ``dimension``. They are equal for a single
    number. ``text`` is empty where nobody wrote it. ``is_estimated``: computed from something else that is written, such
    as a thickness from a mass.
    """

    low: float
    high: float
    dimension: str
    text: str = ""
    is_estimated: bool = False

    @property
    def middle(self) -> float:
        """The middle of the range, taken as the typical value."""
        return (self.low + self.high) / 2

    @property
    def is_range(self) -> bool:
        """Whether the two ends differ."""
        return self.high != self.low


def fahrenheit_degrees(kelvins: float) -> float:
    """A difference of temperature in K as degrees Fahrenheit."""
    return kelvins * 9 / 5


def parse_quantity(text: str, *dimensions: str, measures: str = "us") -> Quantity:
    """Read ``text`` as a quantity of one of ``dimensions`` in the house's kitchen ``measures``.

    Raises UnitError for any text but a number or a rising range with a known unit.

    >>> parse_quantity("1 1/2 kg", "mass").low
    1.5
    >>> parse_quantity("12-24 h", "time").high / 3600
    24.0
    """
    allowed = "one number and a unit, such as " + " or ".join(_EXAMPLES[each] for each in dimensions)
    plain = _plain(text)
    if asked := _asked(plain, dimensions):
        raise UnitError(text, asked)
    if two := _TWO_UNITS.fullmatch(plain):
        return _of_two_units(two, text, dimensions, allowed)
    match = _QUANTITY.fullmatch(plain)
    if match is None:
        raise UnitError(text, allowed)
    unit = _spelt(match["unit"] or "")
    dimension, name = _unit(unit, measures) or ("", "")
    if dimension not in dimensions:
        raise UnitError(text, allowed, _unit_suggestion(unit, dimensions, measures))
    if dimension == "temperature":
        low, high = (_kelvin(number, name) for number in _ends(match))
    else:
        low, high = (number * _factor(name, dimension) for number in _ends(match))
    if high < low:
        raise UnitError(text, "a range that rises, such as 12-24 h")
    if dimension == "temperature" and low < 0:
        raise UnitError(text, "a temperature above absolute zero")
    return Quantity(low=low, high=high, dimension=dimension, text=" ".join(text.split()))


def spellings(dimension: str) -> list[str]:
    """Every unit of ``dimension`` as a text may write it."""
    return [each for each in (*_UNITS, *_SPELLINGS) if _UNITS.get(_SPELLINGS.get(each, each)) == dimension]


def celsius(temperature: float) -> float:
    """Kelvin to degrees Celsius."""
    return temperature - 273.15


def fahrenheit(temperature: float) -> float:
    """Kelvin to degrees Fahrenheit."""
    return (temperature - 273.15) * 9 / 5 + 32


def kelvin(degrees_celsius: float) -> float:
    """Degrees Celsius to kelvin."""
    return degrees_celsius + 273.15


def kitchen_volume(name: str, measures: str) -> float:
    """Volume in m3 of one ``cup``, ``tbsp`` or ``tsp`` in the house's measures. Raises UnitError for another word."""
    found = _unit(name, measures)
    if found is None:
        raise UnitError(name, f"a kitchen measure of {', '.join(MEASURES)}")
    return _factor(found[1], "volume")


def _spelt(written: str) -> str:
    """The unit of the table for ``written``. Capitals, a final full stop and long words do not matter."""
    bare = written.strip()
    if bare in _UNITS or bare in _KITCHEN:
        return bare
    for each in (bare, bare.removesuffix("."), bare.casefold(), bare.casefold().removesuffix(".")):
        each = _SPELLINGS.get(each, each)
        if each in _UNITS or each in _KITCHEN:
            return each
    return bare


def _asked(text: str, dimensions: tuple[str, ...]) -> str:
    """The question to the cook for a word without a number, or nothing."""
    asked = (_ASKED if "time" in dimensions else {}) | (_ASKED_TEMPERATURES if "temperature" in dimensions else {})
    return asked.get(text.casefold(), "")


def _of_two_units(match: re.Match[str], text: str, dimensions: tuple[str, ...], allowed: str) -> Quantity:
    """``1 h 30 min`` or ``2 lb 4 oz``: the sum, where the second unit is the next smaller of the first and below one of it."""
    large, small = _spelt(match["unit"]), _spelt(match["small"])
    dimension, other = _UNITS[large], _UNITS[small]
    total = int(match["whole"]) * _factor(large, dimension)
    part = int(match["part"]) * _factor(small, other)
    if dimension != other or dimension not in dimensions or part >= _factor(large, dimension):
        raise UnitError(text, allowed)
    return Quantity(low=total + part, high=total + part, dimension=dimension, text=" ".join(text.split()))


def _plain(text: str) -> str:
    def written_out(found: re.Match[str]) -> str:
        fraction = unicodedata.normalize("NFKC", found[2]).replace("\N{FRACTION SLASH}", "/")
        return f"{found[1]} {fraction}" if found[1] else fraction

    text = _FRACTION.sub(written_out, text)
    return " ".join(text.replace("−", "-").split())


def _ends(match: re.Match[str]) -> tuple[float, float]:
    low = _number(match["low"])
    return low, _number(match["high"]) if match["high"] else low


def _number(text: str) -> float:
    sign = -1.0 if text[0] in "-−" else 1.0
    total = 0.0
    for part in text.lstrip("-−").split():
        above, _, below = part.partition("/")
        if below and float(below) == 0:
            raise UnitError(text, "a fraction whose lower number is not 0")
        total += float(above) / float(below) if below else float(above)
    return sign * total


def _unit(unit: str, measures: str) -> tuple[str, str] | None:
    if unit in _KITCHEN:
        name = f"{measures}_kitchen_{_KITCHEN[unit]}"
        is_defined = measures in MEASURES and (measures != "metric" or _KITCHEN[unit] in _METRIC)
        return ("volume", name) if is_defined else None
    return (_UNITS[unit], unit) if unit in _UNITS else None


def _unit_suggestion(unit: str, dimensions: tuple[str, ...], measures: str) -> str:
    known = [name for name in (*_UNITS, *_KITCHEN) if (_unit(name, measures) or ("",))[0] in dimensions]
    return nearest(unit, known)


@lru_cache
def _factor(name: str, dimension: str) -> float:
    from handbook.base.unit_registry import registry  # pint takes a fifth of a small command's time

    return float(registry.Quantity(1.0, name).to(_SI[dimension]).magnitude)


@lru_cache(maxsize=4096)
def _kelvin(number: float, name: str) -> float:
    from handbook.base.unit_registry import registry

    return float(registry.Quantity(number, name).to("kelvin").magnitude)
