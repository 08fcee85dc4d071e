"""Plain text taken apart: figures, names, lines; and whatever else somebody may put into a text file."""

import re

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook.errors import PageError
from handbook.notes import MAX_LINE, MAX_LINES, read_notes
from handbook.notes_figures import AMOUNT_UNITS, amount_at, every_in, temperatures_in, times_in
from handbook.notes_names import exact_name, is_curing_salt, may_be_curing_salt, near_names
from handbook.notes_steps import read_step, sentences
from handbook.resolve import ingredient_names
from handbook.tables import engine_tables
from handbook.units import parse_quantity
from tests.published import rows

# text -> the handbook's form, or nothing where it has to be asked
AMOUNTS = [
    ("1 1/2 cups kosher salt", "1 1/2 cup"),
    ("1-1/2 cups water", "1 1/2 cup"),
    ("½ cup brown sugar", "½ cup"),
    ("1½ cups water", "1½ cup"),
    ("1 ⁄2 cup", ""),
    ("2 Tbsp. pepper", "2 tbsp"),
    ("2 tsp. dill", "2 tsp"),
    ("half a cup of honey", "1/2 cup"),
    ("a cup of water", "1 cup"),
    ("two quarts water", "2 quart"),
    ("12 fl. oz. beer", "12 fl oz"),
    ("100g sugar", "100 g"),
    ("1,5 kg trout", "1.5 kg"),
    ("1,500 g trout", ""),
    ("about 3 kg char", "3 kg"),
    ("1 (5 lb) side salmon", "5 lb"),
    ("2 (1.5 lb) sides char", "3 lb"),
    ("One 4-pound piece of brisket", "4 lb"),
    ("5 lb (2.3 kg) pork", "5 lb"),
    ("1 gallon (3.8 L) water", "1 gallon"),
    ("1 cup (290 g) salt", ""),
    ("1 gallon (3 L) water", ""),
    ("1 cup plus 2 tbsp salt", ""),
    ("2-3 cups water", ""),
    ("a pinch of cayenne", ""),
    ("1 heaping tbsp salt", ""),
    ("1 scant cup salt", ""),
    ("1 stick cinnamon", ""),
    ("1 T salt", ""),
    ("3 bay leaves", ""),
    ("4 cloves garlic", ""),
    ("2.5% salt", ""),
    ("2.5 % of the weight of the meat salt", "2.5 % of food"),
    ("5 % of the water", "5 % of water"),
    ("1/0 cup water", ""),
]
TIMES = [
    ("for 8-12 hours", ["8-12 h"]),
    ("for 8 to 12 hrs.", ["8-12 h"]),
    ("90 minutes", ["90 min"]),
    ("1 hour 30 minutes", ["90 min"]),
    ("an hour and a half", ["1 1/2 h"]),
    ("half an hour", ["1/2 h"]),
    ("30 minutes to 1 hour", ["30-60 min"]),
    ("12 hours to 2 days", ["12-48 h"]),
    ("a 24-hour brine", ["24 h"]),
    ("1½ hours", ["1½ h"]),
    ("two weeks", ["2 weeks"]),
    ("overnight to a day", [""]),
    ("overnight", [""]),
    ("at least 2 hours", [""]),
    ("up to 3 days", [""]),
    ("a few hours", [""]),
    ("20 minutes per pound", [""]),
    ("turn it twice a day", []),
    ("turn every 30 minutes", []),
    ("on the counter at 7 pm", []),
]
TEMPERATURES = [
    ("at 350F", ["350 °F"]),
    ("at 350 °F", ["350 °F"]),
    ("at 180 degrees Celsius", ["180 °C"]),
    ("at 225-250°F", ["225-250 °F"]),
    ("75F to 80F", ["75-80 °F"]),
    ("350F (175C)", ["350 °F"]),
    ("425F/220C", ["425 °F"]),
    ("350F (150C)", [""]),
    ("at 350 degrees", [""]),
    ("at 225", [""]),
    ("to -20C", ["-20 °C"]),
    ("2 C water", []),
    ("serves 8 for 12 days at 20 people", []),
]


@pytest.mark.parametrize(("text", "value"), AMOUNTS)
def test_amount_at_reads_or_asks(text, value):
    """What is clear becomes the handbook's form; what is not keeps its words and says why."""
    found = amount_at(text, 7)
    if found is None:
        assert value == ""
        return
    read, _ = found
    assert (read.value, read.line) == (value, 7)
    assert bool(read.why) == (value == "")
    assert re.sub(r"\W", "", read.words)[:1] in text


@pytest.mark.parametrize(("text", "values"), TIMES)
def test_times_in_reads_or_asks(text, values):
    """Times become the handbook's form; a bound, a night and a time for each pound are open."""
    assert [read.value for read, *_ in times_in(text, 1)] == values


@pytest.mark.parametrize(("text", "values"), TEMPERATURES)
def test_temperatures_in_reads_or_asks(text, values):
    """A temperature needs its scale; both scales count as one where they agree."""
    assert [read.value for read, *_ in temperatures_in(text, 1)] == values


def test_a_figure_without_a_scale_offers_both():
    """Nobody is cooked at 350 °C for want of a letter: both scales are offered, none is taken."""
    assert temperatures_in("at 350 degrees", 1)[0][0].choices == ("350 °F", "350 °C")
    assert every_in("turn every 30 minutes", 1)[0].value == "30 min"


@pytest.mark.parametrize("row", rows("nist_measures.csv"), ids=lambda row: f"{row['measures']} {row['unit']}")
def test_units_of_notes_against_nist(row):
    """One of each measure, read from a line of notes, is the printed factor to half its last digit."""
    read, _ = amount_at(f"1 {row['unit']} of water", 1)
    quantity = parse_quantity(read.value, "mass", "volume", measures=row["measures"])
    value = quantity.low * (1e6 if row["to"] == "mL" else 1e3)
    digits, _, power = row["factor"].partition("E")
    half = 0.5 * 10.0 ** (int(power) - len(digits.partition(".")[2]))
    assert abs(value - float(row["factor"])) <= half * (1 + 1e-9)


def test_units_of_notes_against_pint():
    """Every spelling of a unit is what pint, a general-purpose library with its own table, makes of the unit's name."""
    library = pint.UnitRegistry(cache_folder=None)
    theirs = {
        "fl oz": "fluid_ounce", "cup": "cup", "tbsp": "tablespoon", "tsp": "teaspoon", "oz": "ounce", "lb": "pound",
    }  # fmt: skip
    for spelling, unit in AMOUNT_UNITS.items():
        read, rest = amount_at(f"3 {spelling} x", 1)
        assert (read.value, rest) == (f"3 {unit}", "x"), spelling
        quantity = parse_quantity(read.value, "mass", "volume")
        other = (
            library.Quantity(3, theirs.get(unit, unit)).to("m**3" if quantity.dimension == "volume" else "kg").magnitude
        )
        assert quantity.low == pytest.approx(other, rel=1e-9), spelling


NUMBERS = st.one_of(
    st.integers(1, 9999).map(str),
    st.decimals("0.1", "999", places=1).map(str),
    st.tuples(st.integers(1, 40), st.integers(1, 7), st.sampled_from([2, 3, 4, 8])).map(
        lambda n: f"{n[0]} {n[1]}/{n[2]}"
    ),
    st.tuples(st.integers(1, 7), st.sampled_from([2, 3, 4, 8])).map(lambda n: f"{n[0]}/{n[1]}"),
    st.sampled_from("½⅓⅔¼¾⅛⅜⅝⅞⅕⅙"),
    st.tuples(st.integers(1, 40), st.sampled_from("½⅓⅔¼¾⅛")).map(lambda n: f"{n[0]}{n[1]}"),
)


@given(NUMBERS, st.sampled_from(sorted(set(AMOUNT_UNITS.values()))))
def test_an_amount_in_the_handbooks_form_reads_back(number, unit):
    """What the page would carry, put into notes again, is read as itself."""
    read, rest = amount_at(f"{number} {unit} honey", 1)
    again, _ = amount_at(f"{read.value} honey", 1)
    assert rest == "honey" and again.value == read.value
    assert parse_quantity(read.value, "mass", "volume").low == parse_quantity(f"{number} {unit}", "mass", "volume").low


@given(NUMBERS, st.sampled_from(["min", "h", "days", "weeks"]))
def test_a_time_in_the_handbooks_form_reads_back(number, unit):
    """A time that a page may carry is read as the same time."""
    found = times_in(f"leave it for {number} {unit}", 1)
    assert len(found) == 1
    assert parse_quantity(found[0][0].value, "time").low == parse_quantity(f"{number} {unit}", "time").low


@given(st.integers(-40, 399), st.sampled_from("CF"))
def test_a_temperature_in_the_handbooks_form_reads_back(number, scale):
    """So is a temperature."""
    assert [read.value for read, *_ in temperatures_in(f"at {number} °{scale} now", 1)] == [f"{number} °{scale}"]


@given(st.text(max_size=300))
def test_any_text_gives_pieces_or_one_line(text):
    """Whatever the text, it is taken apart or refused with one line; every line is a piece, a heading or kept."""
    try:
        notes = read_notes(text, "notes.txt")
    except PageError as error:
        assert "\n" not in str(error) and str(error).startswith("notes.txt:")
        return
    taken = {each.line for each in (*notes.ingredients, *notes.steps, *notes.groups)} | set(notes.unread) | notes.heads
    taken |= {notes.title.line} if notes.title else set()
    assert {number for number, line in enumerate(notes.lines, 1) if line.split()} <= taken


@given(st.lists(st.sampled_from(["1 cup", "salt", "½", "(", ")", "5 lb", "350F", "until", "Smoke", ".", ",", "-", "every", "2 %", "of", "\t", "overnight", "hold", "1/0", "9" * 12, "to", "°"]), max_size=25))  # fmt: skip
def test_any_order_of_likely_words_is_taken_apart(words):
    """Pieces of real notes in a senseless order never break the reading, and nothing gets two line numbers."""
    notes = read_notes("Title\n" + " ".join(words), "notes.txt")
    assert all(1 <= each.line <= 2 for each in (*notes.ingredients, *notes.steps))


HOSTILE = {
    "too many lines": ("x\n" * 10_000, MAX_LINES + 1),
    "a very long line": ("A title\n" + "1 cup salt " * 30_000, 2),
    "binary": ("A title\n\x00\x01\x02", 2),
    "a hidden turn of the reading direction": ("A title\n\u202e1 cup salt", 2),
    "nothing": (" \n \n", 1),
    "too many ingredients": ("T\nIngredients\n" + "1 g salt\n" * 100, 63),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_is_one_line(name):
    """The line at fault and what is allowed, and no traceback."""
    text, line = HOSTILE[name]
    with pytest.raises(PageError) as caught:
        read_notes(text, "notes.txt")
    assert caught.value.line == line and "\n" not in str(caught.value) and "allowed:" in str(caught.value)


@pytest.mark.parametrize(
    "text", ["(" * MAX_LINE, "1 " * 1000, "1/" * 900, "every " * 300, "a-" * 900, "." * MAX_LINE, "5 lb (" * 300]
)
def test_repeated_signs_are_read_quickly_enough_to_end(text):
    """No expression runs away on a line of one thing repeated: the test ends."""
    assert read_notes(f"Title\n{text[:MAX_LINE]}", "notes.txt").lines[1]


def test_right_to_left_words_are_kept():
    """Words in another script are no ingredients and are kept."""
    notes = read_notes("Cured trout\nمלח 1 كوب\nמים", "notes.txt")
    assert notes.lines[2] == "מים" and 3 in notes.unread


def test_names_are_taken_only_in_full():
    """``sugar`` and ``kosher salt`` may be several things; ``maple syrup`` is one."""
    names = ingredient_names(engine_tables())
    assert exact_name("maple syrup", names) == "syrup, maple"
    assert exact_name("juniper berries", names) == "juniper berry, whole"
    assert [exact_name(each, names) for each in ("sugar", "kosher salt", "soy sauce", "mustard seed", "vinegar")] == [
        ""
    ] * 5
    assert {"soy sauce, shoyu", "soy sauce, tamari"} <= set(near_names("soy sauce", names))
    assert near_names("salmn", engine_tables().foods)[0].startswith("salmon")


def test_curing_salt_is_known_by_its_words():
    """Words that mean nitrite, and the pink salt that may."""
    assert all(
        map(is_curing_salt, ("curing salt", "cure #1", "Cure # 2", "sodium nitrite", "pink curing salt", "saltpetre"))
    )
    assert not any(map(is_curing_salt, ("sea salt", "cure the fish", "pink salt")))
    assert may_be_curing_salt("pink salt")


def test_read_step_of_a_smoking():
    """One sentence with everything in it."""
    step = read_step("Smoke at 200F until the internal temperature reaches 160F; hold for 30 min", 4, 1)
    assert (step.stage.value, step.place.value, step.heat.value, step.core.value, step.hold.value) == (
        "smoke", "smoker", "200 °F", "160 °F", "30 min",
    )  # fmt: skip
    assert step.time is None and step.hands_on.value == "no"


def test_read_step_leaves_two_of_a_kind_open():
    """Two times, two stages, or "reaches 145F" of who knows what are open with both as choices."""
    step = read_step("Rinse and smoke 2 hours, turn, and 3 hours more until it reaches 145F", 4, 1)
    assert (step.stage.value, step.stage.choices) == ("", ("rinse", "smoke"))
    assert (step.time.value, step.time.choices) == ("", ("2 h", "3 h"))
    assert (step.core.value, step.core.choices) == ("", ("145 °F",))


def test_sentences_end_where_they_end():
    """Not at an abbreviation, and "hold" belongs to the temperature before it."""
    assert sentences("Add 2 Tbsp. Salt. Chill, then rinse. Heat to 70C. Hold 5 min.") == [
        "Add 2 Tbsp. Salt", "Chill", "rinse", "Heat to 70C; Hold 5 min.",
    ]  # fmt: skip
