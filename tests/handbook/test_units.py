"""Reading of quantities: accepted forms, refused forms, and conversions against exact definitions."""

import pint
import pytest

from handbook.base.errors import UnitError
from handbook.base.units import celsius, fahrenheit, kitchen_volume, parse_quantity
from tests.published import rows

#: Each unit as written, by its full name in pint's own table.
FULL_NAMES = {
    "mass": {"kg": "kilogram", "g": "gram", "mg": "milligram", "lb": "pound", "oz": "ounce"},
    "volume": {
        "L": "liter", "dL": "deciliter", "mL": "milliliter", "fl oz": "fluid_ounce", "cup": "cup", "pint": "pint",
        "quart": "quart", "gallon": "gallon", "tbsp": "tablespoon", "tsp": "teaspoon",
    },
    "length": {"m": "meter", "cm": "centimeter", "mm": "millimeter", "in": "inch"},
    "time": {"s": "second", "min": "minute", "h": "hour", "day": "day", "week": "week", "month": "month"},
    "temperature": {"°C": "degree_Celsius", "°F": "degree_Fahrenheit"},
    "fraction": {"%": "percent", "ppm": "ppm"},
}  # fmt: skip
# Exact definitions: NIST Special Publication 811 (2008), appendix B (pound, ounce, inch, US gallon), from memory.
ACCEPTED = [
    ("1.5 kg", "mass", 1.5, 1.5),
    ("1 1/2 kg", "mass", 1.5, 1.5),
    ("1½ kg", "mass", 1.5, 1.5),
    ("½ kg", "mass", 0.5, 0.5),
    ("1 lb", "mass", 0.45359237, 0.45359237),
    ("16 oz", "mass", 0.45359237, 0.45359237),
    ("3/4 in", "length", 0.01905, 0.01905),
    ("20-25 mm", "length", 0.020, 0.025),
    ("20–25 mm", "length", 0.020, 0.025),
    ("12 to 24 h", "time", 43200.0, 86400.0),
    ("90 min", "time", 5400.0, 5400.0),
    ("3 days", "time", 259200.0, 259200.0),
    ("77 °C", "temperature", 350.15, 350.15),
    ("170.6 °F", "temperature", 350.15, 350.15),
    ("-20 °C", "temperature", 253.15, 253.15),
    ("−4 °F", "temperature", 253.15, 253.15),
    ("2.5 %", "fraction", 0.025, 0.025),
    ("156 ppm", "fraction", 0.000156, 0.000156),
    ("1 gallon", "volume", 0.003785411784, 0.003785411784),
    ("2 cups", "volume", 0.000473176473, 0.000473176473),
    ("  2   L ", "volume", 0.002, 0.002),
    # As cooks write them.
    ("165 F", "temperature", 347.0388888888889, 347.0388888888889),
    ("165F", "temperature", 347.0388888888889, 347.0388888888889),
    ("74 C", "temperature", 347.15, 347.15),
    ("165 degrees F", "temperature", 347.0388888888889, 347.0388888888889),
    ("2 gal", "volume", 0.007570823568, 0.007570823568),
    ("3 qt", "volume", 0.002839058838, 0.002839058838),
    ("2 Tbsp", "volume", 2.95735295625e-5, 2.95735295625e-5),
    ("5 lbs", "mass", 2.26796185, 2.26796185),
    ("250 grams", "mass", 0.25, 0.25),
    ('1 1/4"', "length", 0.03175, 0.03175),
    ("30 minutes", "time", 1800.0, 1800.0),
    ("2 hrs", "time", 7200.0, 7200.0),
    ("1 h 30 min", "time", 5400.0, 5400.0),
    ("2 lb 4 oz", "mass", 1.0205828325, 1.0205828325),
    ("5 percent", "fraction", 0.05, 0.05),
]
REFUSED = [
    "",
    "1.5",
    "kg",
    "1,5 kg",
    "1 h 75 min",
    "1 h 30 oz",
    "1 min 30 h",
    "1:30",
    "9**9**9 kg",
    "1e3 kg",
    "F",
    "ten kg",
    "1/0 kg",
    "1.5 kgg",
    "24-12 h",
    "nan kg",
    "inf kg",
    "1 2 kg",
    "0x10 kg",
    "1_000 g",
    "١ kg",
    "-300 °C",
    "5 cup of kg",
    "7 farad",
]


@pytest.mark.parametrize(("text", "dimension", "low", "high"), ACCEPTED)
def test_parse_quantity_accepts(text, dimension, low, high):
    """Every written form gives its SI value."""
    quantity = parse_quantity(text, dimension)
    assert (quantity.low, quantity.high) == pytest.approx((low, high), rel=1e-12)


@pytest.mark.parametrize("text", REFUSED)
def test_parse_quantity_refuses(text):
    """Anything but one number or range and one known unit is refused with what is allowed."""
    with pytest.raises(UnitError, match="allowed: "):
        parse_quantity(text, "mass", "time", "temperature", "volume")


def test_parse_quantity_suggests_a_unit():
    """A near miss is answered with the unit that was meant."""
    with pytest.raises(UnitError) as caught:
        parse_quantity("2 tbps", "volume")
    assert str(caught.value) == (
        'read "2 tbps"; allowed: one number and a unit, such as "2 L" or "1 1/2 cup". Did you mean tbsp?'
    )


@pytest.mark.parametrize(
    ("text", "dimension", "asked"),
    [
        ("overnight", "time", "how long the night is"),
        ("Overnight", "time", "how long the night is"),
        ("all day", "time", "how long the day is"),
        ("room temperature", "temperature", "the temperature of that room"),
    ],
)
def test_a_word_without_a_number_asks(text, dimension, asked):
    """A cook's word for a time or a warmth asks what it is in this kitchen."""
    with pytest.raises(UnitError, match=asked):
        parse_quantity(text, dimension)


def test_parse_quantity_refuses_another_dimension():
    """A mass is no time."""
    with pytest.raises(UnitError, match='"90 min" or "12-24 h"'):
        parse_quantity("2 kg", "time")


@pytest.mark.parametrize(
    ("measures", "cup", "tbsp", "tsp"),
    [
        # US: 21 CFR 101.9(b)(5)(viii) rounds to 240, 15, 5 mL for labels; the customary cup is half a US pint, exact.
        ("us", 236.5882365, 14.78676478125, 4.92892159375),
        ("metric", 250.0, 15.0, 5.0),
        ("imperial", 284.130625, 17.7581640625, 5.919388),
    ],
)
def test_kitchen_volume(measures, cup, tbsp, tsp):
    """Cups and spoons are those of the house's measures."""
    found = [kitchen_volume(name, measures) * 1e6 for name in ("cup", "tbsp", "tsp")]
    assert found == pytest.approx([cup, tbsp, tsp], rel=1e-7)


@pytest.mark.parametrize("row", rows("nist_measures.csv"), ids=lambda row: f"{row['measures']} {row['unit']}")
def test_units_against_nist(row):
    """One of each measure is the printed factor to half its last digit."""
    quantity = parse_quantity(f"1 {row['unit']}", "mass", "volume", measures=row["measures"])
    value = quantity.low * (1e6 if row["to"] == "mL" else 1e3)
    digits, _, power = row["factor"].partition("E")
    half = 0.5 * 10.0 ** (int(power) - len(digits.partition(".")[2]))
    assert abs(value - float(row["factor"])) <= half * (1 + 1e-9)


def test_units_against_pint():
    """Three of each unit, and of each measure, are what pint's own table of all units makes of the full name."""
    full = pint.UnitRegistry(cache_folder=None, autoconvert_offset_to_baseunit=True)
    base = {"mass": "kg", "volume": "m**3", "length": "m", "time": "s", "temperature": "K", "fraction": ""}
    for dimension, names in FULL_NAMES.items():
        for unit, theirs in names.items():
            found = parse_quantity(f"3 {unit}", dimension).low
            assert found == pytest.approx(full.Quantity(3, theirs).to(base[dimension]).magnitude, rel=1e-15), unit
    for name in ("fl oz", "cup", "pint", "quart", "gallon"):
        found = parse_quantity(f"3 {name}", "volume", measures="imperial").low
        theirs = full.Quantity(3, f"imperial_{name.replace('fl oz', 'fluid_ounce')}")
        assert found == pytest.approx(theirs.to("m**3").magnitude, rel=1e-15), name


def test_same_temperature_in_every_scale():
    """40 °F, 4.44 °C and 277.594 K are one temperature."""
    kelvins = parse_quantity("40 °F", "temperature").low
    assert kelvins == pytest.approx(277.5944, abs=1e-4)
    assert celsius(kelvins) == pytest.approx(4.4444, abs=1e-4)
    assert fahrenheit(kelvins) == pytest.approx(40.0, abs=1e-9)
