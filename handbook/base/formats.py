"""Figures as text. All decisions on units and digits are made here."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import ceil

from handbook.base.ranges import Range
from handbook.base.units import celsius, fahrenheit


def format_rounded_up(value: float, digits: int) -> str:
    """A number rounded up to so many decimals, for the minimum change of an amount."""
    step = 10.0**digits
    return format_number(ceil(value * step - 1e-9) / step, digits)


def format_number(value: float, digits: int) -> str:
    """``value`` with ``digits`` decimals, a minus sign (U+2212) and no negative zero."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def format_mass(kg: float) -> str:
    """Grams below 1 kg (tenths below 20 g), kilograms above with three figures."""
    number, unit = mass_parts(kg)
    return f"{number} {unit}"


def mass_parts(kg: float) -> tuple[str, str]:
    """Number and unit of ``format_mass``, for ranges that state the unit once."""
    grams = kg * 1000
    if grams < 999.5:
        return format_number(grams, 1 if grams < 20 else 0), "g"
    return format_number(kg, 2 if kg < 10 else 1), "kg"


def format_volume(m3: float) -> str:
    """Millilitres below 1 L, litres above."""
    litres = m3 * 1000
    if litres < 0.9995:
        return f"{format_number(litres * 1000, 0)} mL"
    return f"{format_number(litres, 2 if litres < 10 else 1)} L"


def format_percent(fraction: float, digits: int = 1) -> str:
    """A fraction as percent."""
    return f"{format_number(fraction * 100, digits)} %"


def format_percent_range(value: Range, digits: int = 1) -> str:
    """``2.3 % (1.9–2.8)``, or one figure where both ends print the same."""
    low, typical, high = (format_number(end * 100, digits) for end in value.ends)
    return f"{typical} %" if low == high else f"{typical} % ({low}–{high})"


def format_number_range(value: Range, digits: int) -> str:
    """``0.97 (0.95–0.98)``, or one figure where both ends print the same."""
    low, typical, high = (format_number(end, digits) for end in value.ends)
    return typical if low == high else f"{typical} ({low}–{high})"


def format_time(seconds: float) -> str:
    """Minutes below 2 h, hours below 3 days, days above."""
    number, unit = _time(seconds)
    return f"{number} {unit}"


def format_time_range(value: Range) -> str:
    """``12–24 h`` in one unit where both ends share it, or one figure for a range of no width.

    >>> format_time_range(Range(3600.0, 7200.0, 14400.0, is_open=True))
    '60 min or more'
    """
    if value.is_open:
        return f"{format_time(value.low)} or more"
    (low, low_unit), (high, unit) = _time(value.low), _time(value.high)
    if not value.is_wide or (low, low_unit) == (high, unit):
        return format_time(value.typical)
    return f"{low}–{high} {unit}" if low_unit == unit else f"{low} {low_unit} – {high} {unit}"


def format_clock(seconds: float) -> str:
    """Running time since the start: ``0:45``, ``18:30``, with days above 24 h: ``3 d 04:00``."""
    minutes = round(seconds / 60)
    days, rest = divmod(minutes, 24 * 60)
    clock = f"{rest // 60}:{rest % 60:02d}"
    return f"{days} d {rest // 60:02d}:{rest % 60:02d}" if days else clock


def format_temperature(kelvins: float, digits: int = 0) -> str:
    """Both scales, Celsius first."""
    return f"{format_number(celsius(kelvins), digits)} °C ({format_number(fahrenheit(kelvins), digits)} °F)"


def format_stated_temperature(kelvins: float) -> str:
    """Both scales to a tenth, where a whole degree would print a figure on the other side of a limit.

    >>> format_stated_temperature(344.15)
    '71 °C (159.8 °F)'
    """
    return _to_a_tenth(kelvins, format_number)


def format_least_temperature(kelvins: float) -> str:
    """Both scales to a tenth, rounded up, for a temperature to be reached.

    >>> format_least_temperature(344.2611)
    '71.2 °C (160 °F)'
    """
    return _to_a_tenth(kelvins, format_rounded_up)


def format_temperature_range(value: Range, digits: int = 0) -> str:
    """Both scales with both ends; one figure on a scale where both ends print the same.

    >>> format_temperature_range(Range(348.15, 348.3, 348.55))
    '75 °C (167–168 °F)'
    """
    if not value.is_wide:
        return format_temperature(value.typical, digits)
    said = []
    for scale in (celsius, fahrenheit):
        low, high = (format_number(scale(end), digits) for end in (value.low, value.high))
        said.append(low if low == high else f"{low}–{high}")
    return f"{said[0]} °C ({said[1]} °F)"


def format_length(m: float) -> str:
    """Millimetres below 10 cm, centimetres above."""
    return f"{format_number(m * 1000, 0)} mm" if m < 0.1 else f"{format_number(m * 100, 0)} cm"


def format_money(value: float, currency: str) -> str:
    """Two decimals and the house's currency."""
    return f"{format_number(value, 2)} {currency}".strip()


_DEGREES = re.compile(
    r"(?P<low>[-−]?\d+(?:\.\d+)?)(?:(?P<between> to | ?[-–] ?)(?P<high>\d+(?:\.\d+)?))? ?(?P<unit>°[CF]|degrees Fahrenheit)"
)


def add_other_scale(text: str) -> str:
    """A limit as printed, with the other temperature scale in square brackets where the text names only one.

    The printed figure itself is never changed.

    >>> add_other_scale("160 °F for 30 minutes")
    '160 °F [71.1 °C] for 30 minutes'
    """
    if "°C" in text and ("°F" in text or "Fahrenheit" in text):
        return text
    return _DEGREES.sub(_with_other, text)


def _with_other(found: re.Match[str]) -> str:
    is_celsius = found["unit"] == "°C"
    ends = [float(end.replace("−", "-")) for end in (found["low"], found["high"]) if end]
    other = [end * 9 / 5 + 32 if is_celsius else (end - 32) * 5 / 9 for end in ends]
    # One figure is a limit: rounded to whole degrees it would be another one.
    words = "–".join(
        format_number(end, 0) if len(other) > 1 and abs(end) >= 10 else _tenth(end, format_number) for end in other
    )
    return f"{found[0]} [{words} {'°F' if is_celsius else '°C'}]"


def _to_a_tenth(kelvins: float, form: Callable[[float, int], str]) -> str:
    in_celsius, in_fahrenheit = (_tenth(scale(kelvins), form) for scale in (celsius, fahrenheit))
    return f"{in_celsius} °C ({in_fahrenheit} °F)"


def _tenth(value: float, form: Callable[[float, int], str]) -> str:
    return form(value, 1).removesuffix(".0")


def format_signed_percent(fraction: float, digits: int = 1) -> str:
    """A change or an error, with its sign."""
    text = format_number(fraction * 100, digits)
    return f"{text} %" if text.startswith("−") or float(text) == 0 else f"+{text} %"


def shorten(text: str, limit: int) -> str:
    """The first words of a text, up to ``limit`` characters."""
    return text if len(text) <= limit else text[: limit - 1].rsplit(" ", 1)[0] + " …"


def _time(seconds: float) -> tuple[str, str]:
    """Number and unit."""
    minutes, hours = seconds / 60, seconds / 3600
    if minutes < 119.5:
        return format_number(minutes, 0 if minutes >= 1 else 1), "min"
    return (_trim(hours), "h") if hours < 72 else (_trim(hours / 24), "days")


def _trim(value: float) -> str:
    text = format_number(value, 1 if value < 24 else 0)
    return text.removesuffix(".0")
