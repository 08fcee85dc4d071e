"""A strict parser of written quantities.

A text is one number (or a range of two) and one known unit. Pint converts but never parses: it reads ``1,5 kg``
as 15 kg, ``F`` as farad and ``1 h 30 min`` as hour times minute.
"""

from __future__ import annotations

import re
from functools import lru_cache

from msgspec import Struct

from handbook.base.did_you_mean import nearest
from handbook.base.errors import UnitError

MEASURES = ("us", "metric", "imperial")
_SI = {"mass": "kg", "volume": "m**3", "length": "m", "time": "s", "temperature": "kelvin", "fraction": ""}
#: Unit as written -> (dimension, name in the registry).
_UNITS: dict[str, tuple[str, str]] = {
    "kg": ("mass", "kilogram"),
    "g": ("mass", "gram"),
    "mg": ("mass", "milligram"),
    "lb": ("mass", "pound"),
    "oz": ("mass", "ounce"),
    "l": ("volume", "liter"),
    "L": ("volume", "liter"),
    "dl": ("volume", "deciliter"),
    "dL": ("volume", "deciliter"),
    "ml": ("volume", "milliliter"),
    "mL": ("volume", "milliliter"),
    "m": ("length", "meter"),
    "cm": ("length", "centimeter"),
    "mm": ("length", "millimeter"),
    "in": ("length", "inch"),
    "inch": ("length", "inch"),
    "s": ("time", "second"),
    "min": ("time", "minute"),
    "h": ("time", "hour"),
    "hour": ("time", "hour"),
    "hours": ("time", "hour"),
    "day": ("time", "day"),
    "days": ("time", "day"),
    "d": ("time", "day"),
    "week": ("time", "week"),
    "weeks": ("time", "week"),
    "month": ("time", "month"),
    "months": ("time", "month"),
    "°C": ("temperature", "degC"),
    "°F": ("temperature", "degF"),
    "degC": ("temperature", "degC"),
    "degF": ("temperature", "degF"),
    "℃": ("temperature", "degC"),
    "℉": ("temperature", "degF"),
    "%": ("fraction", "percent"),
    "ppm": ("fraction", "ppm"),
}
#: Cooks' spelling of a unit -> the unit above, where the meaning is certain. In a kitchen C and F are not coulomb and
#: farad.
_SPELLINGS = {
    "C": "°C", "F": "°F", "ºC": "°C", "ºF": "°F", "deg C": "°C", "deg F": "°F", "degrees C": "°C", "degrees F": "°F",
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
_KITCHEN = {
    "tsp": "teaspoon",
    "teaspoon": "teaspoon",
    "teaspoons": "teaspoon",
    "tbsp": "tablespoon",
    "tablespoon": "tablespoon",
    "tablespoons": "tablespoon",
    "cup": "cup",
    "cups": "cup",
    "fl oz": "fluid_ounce",
    "pint": "pint",
    "pints": "pint",
    "quart": "quart",
    "quarts": "quart",
    "gallon": "gallon",
    "gallons": "gallon",
}
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
_FRACTIONS = {
    "½": "1/2",
    "⅓": "1/3",
    "⅔": "2/3",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅕": "1/5",
    "⅙": "1/6",
}
_FRACTION = re.compile(f"[{''.join(_FRACTIONS)}]")
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
    number. ``unit`` is the unit as written, ``text`` the whole text. ``is_estimated``: not written, but computed from
    something else that is, such as a thickness from a mass.
    """

    low: float
    high: float
    dimension: str
    unit: str
    text: str
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
    if "°" in unit or "deg" in unit or "℃" in unit or "℉" in unit:
        low, high = (_kelvin(number, name) for number in _ends(match))
    else:
        low, high = (number * _factor(name, dimension) for number in _ends(match))
    if high < low:
        raise UnitError(text, "a range that rises, such as 12-24 h")
    if dimension == "temperature" and low < 0:
        raise UnitError(text, "a temperature above absolute zero")
    return Quantity(low=low, high=high, dimension=dimension, unit=unit, text=" ".join(text.split()))


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
    word = text.casefold()
    found = (_ASKED.get(word, "") if "time" in dimensions else "") or (
        _ASKED_TEMPERATURES.get(word, "") if "temperature" in dimensions else ""
    )
    return found


def _of_two_units(match: re.Match[str], text: str, dimensions: tuple[str, ...], allowed: str) -> Quantity:
    """``1 h 30 min`` or ``2 lb 4 oz``: the sum, where the second unit is the next smaller of the first and below one of it."""
    large, small = _spelt(match["unit"]), _spelt(match["small"])
    (dimension, of_large), (other, of_small) = _UNITS[large], _UNITS[small]
    total = int(match["whole"]) * _factor(of_large, dimension)
    part = int(match["part"]) * _factor(of_small, other)
    if dimension != other or dimension not in dimensions or part >= _factor(of_large, dimension):
        raise UnitError(text, allowed)
    return Quantity(low=total + part, high=total + part, dimension=dimension, unit=large, text=" ".join(text.split()))


def _plain(text: str) -> str:
    if _FRACTION.search(text):
        for sign, written in _FRACTIONS.items():
            text = re.sub(rf"(\d)\s*{sign}", rf"\1 {written}", text).replace(sign, written)
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
    return _UNITS.get(unit)


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
