"""Small method pages as safety cases, for the tests of the safety rules."""

import numpy as np
from msgspec.structs import replace

from handbook.base.ranges import Range
from handbook.brine.made_up import make_up
from handbook.brine.nitrite import cure_process
from handbook.catalogue.tables import engine_tables
from handbook.page.house import read_house, vocabulary
from handbook.page.ingredient_lines import find_ingredient
from handbook.page.read_method import BlockText, read_method
from handbook.safety.findings import CoreCurve, SafetyCase, findings
from handbook.safety.limits import rules_and_limits

TABLES = engine_tables()
HOUSE_TEXT = """
kitchen: Test kitchen
measures: us
batches: [1 kg]
thicknesses: [20 mm]
fridge: 3 °C
containers:
  - {name: tub, length: 30 cm, width: 20 cm, height: 12 cm}
"""
HOUSE, _ = read_house(HOUSE_TEXT, "house.yml", tuple(TABLES.foods), tuple(TABLES.ingredients), rules_and_limits())
WORDS = vocabulary(HOUSE, tuple(TABLES.foods), tuple(TABLES.ingredients))
TROUT, CHICKEN, HAM = "trout, rainbow, wild", "chicken thigh, with skin", "pork leg (fresh ham), whole, lean"
CHOP, BELLY, CABBAGE = "pork loin, whole, lean", "pork belly", "cabbage, green"
SALT = '{item: "salt, fine sea", amount: 3 % of food}'
CURING_SALT = '{item: "curing salt, 6.25 % sodium nitrite (type 1)", amount: 2.4 g}'
DRY_CURE = f"kind: dry cure\ntemperature: 3 °C\ningredients:\n  - {SALT}"
PICKLE = (
    "kind: injection\nname: pickle\npump: 10 %\ntemperature: 3 °C\ningredients:\n"
    f'  - {{item: "water, tap", amount: 1 kg}}\n  - {SALT}\n  - {CURING_SALT}'
)
KEEP = "pack: air\ntemperature: 3 °C\ntime: 4 days"
LONG_VACUUM = "pack: vacuum\ntemperature: 3 °C\ntime: 20 days"
DRY_ENOUGH = "- {what: water activity, value: 0.82, where: thickest place, how: lab, record: run 1}"
SOUR = "- {what: pH, value: 3.7, where: through the piece, how: meter, record: crock 1}"
VACUUM = "pack: vacuum\ntemperature: 3 °C\ntime: 4 days"


def step(stage, place="bench", time="30 min", do="work", **more):
    """One step in YAML; ``time=None`` leaves it out."""
    values = {"do": do, "stage": stage, "place": place, "time": time, **more}
    return "- {" + ", ".join(f"{key}: {value}" for key, value in values.items() if value is not None) + "}"


PREPARE = step("prepare", hands_on="yes", temperature="12 °C")
CURE = step("salt", "fridge", "2 days", use="cure")
CHILL = step("cool", "fridge", "90 min", core="21 °C", temperature="3 °C")
CHILL_THROUGH = step("cool", "fridge", "3 h", core="4 °C", temperature="3 °C")
HOT_SMOKE = step("smoke", "smoker", "2 h", chamber="95 °C", core="72 °C", hold="30 min")
COLD_SMOKE = step("smoke", "smoker", "12 h", chamber="4 °C")
FREEZE = step("freeze", "freezer", "8 days", temperature="-22 °C")
ROAST = step("cook", "oven", "40 min", chamber="200 °C", core="75 °C")


def case_of(
    food,
    kind,
    *steps,
    salting=DRY_CURE,
    keeping=KEEP,
    glaze=None,
    house=HOUSE,
    origin="wild",
    form=None,
    measured=None,
    thickness="20 mm",
    eaten="as it is",
    **values,
):
    """A safety case of a small method page."""
    head = f'title: Test\nfood: "{food}"\nkind: {kind}\nsummary: Test.\nkeeper: Test\nreviewed: 2026-01-05\nportions: 4'
    head += f"\neaten: {eaten}"
    blocks = {
        "pieces": f"shape: slab\nthickness: {thickness}\norigin: {origin}" + (f"\nform: {form}" if form else ""),
        "salting": salting,
        "glaze": glaze,
        "steps": "\n".join(steps),
        "batches": "written_for: 1 kg",
        "measured": measured,
        "keeping": keeping,
    }
    texts = [BlockText(kind=key, text=text, line=10) for key, text in blocks.items() if text]
    method, faults = read_method(
        "test.md", "test", BlockText(kind="front matter", text=head, line=1), texts, WORDS, "us", TABLES
    )
    assert not faults, [str(each) for each in faults]
    makes = {each.name: _made(each, TABLES.foods[food], method.pieces.form) for each in method.saltings}
    return SafetyCase(method=method, house=house, food=TABLES.foods[food], **{"makes": makes, **values})


def _made(salting, food, form):
    """The salting as made up for the page's one kilogram."""
    return make_up(
        salting.ingredients,
        lambda line: find_ingredient(line, TABLES),
        food,
        1.0,
        salting.target_salt,
        process=cure_process(salting.kind, form),
        pump=salting.pump.middle if salting.pump else None,
    )


def for_audience(audience):
    """The test house for another audience."""
    return replace(HOUSE, audience=audience)


def with_place(place):
    """The test house under another law."""
    return replace(HOUSE, place=place)


def levels(case, rule):
    """Level of every finding of a rule, by limit."""
    return {each.limit: each.level for each in findings(case) if each.rule == rule}


def worst(case, rule):
    """The most serious level of a rule; "" where it has no finding."""
    return next((level for level in ("stop", "act", "met", "note") if level in levels(case, rule).values()), "")


def curve(*points):
    """A core curve from (hours, typical °C), 2 K either way."""
    time, core = (
        np.array([hours * 3600.0 for hours, _ in points]),
        np.array([degrees + 273.15 for _, degrees in points]),
    )
    return CoreCurve(time=time, low=core - 2, typical=core, high=core + 2)


def hot_smoked(*steps, food=TROUT, **more):
    return case_of(food, "hot smoke", PREPARE, CURE, *(steps or (HOT_SMOKE, CHILL, CHILL_THROUGH)), **more)


def cold_smoked(*steps, food=TROUT, **more):
    more = {"water_phase_salt": Range(0.037, 0.040, 0.044), "keeping": VACUUM, **more}
    return case_of(food, "cold smoke", PREPARE, *(steps or (FREEZE, CURE, COLD_SMOKE)), **more)


def cooked(to="75 °C", food=CHICKEN, hold=None, **more):
    return case_of(
        food,
        "cook",
        PREPARE,
        CURE,
        step("cook", "oven", "40 min", chamber="200 °C", core=to, hold=hold),
        step("serve", time="2 min", temperature="20 °C"),
        **more,
    )


def pumped(ppm, food=HAM, salting=PICKLE, **more):
    return case_of(
        food,
        "cook",
        PREPARE,
        step("salt", "fridge", "2 days", use="pickle" if "pickle" in salting else "cure"),
        step("cook", "oven", "3 h", chamber="110 °C", core="70 °C", hold="3 min"),
        CHILL,
        CHILL_THROUGH,
        salting=salting,
        ingoing_nitrite_ppm=ppm,
        **more,
    )


def kraut(salt=0.022, warm="18 °C", days="45 days", ph="3.8", food=CABBAGE, kind="dry-salted ferment", **more):
    ferment = step("ferment", "cellar", days, temperature=warm, final_ph=ph)
    salting = f"kind: {kind}\nname: cure\ningredients:\n  - {SALT}"
    return case_of(
        food,
        "ferment",
        PREPARE,
        ferment,
        salting=salting,
        keeping="pack: brine\ntemperature: 3 °C\ntime: 90 days",
        equilibrium_salt=Range.exact(salt),
        **more,
    )


EXACT = Range.exact
NITRITE_CURE = f"kind: dry cure\ntemperature: 3 °C\ningredients:\n  - {SALT}\n  - {CURING_SALT}"
NITRATE_CURE = NITRITE_CURE.replace("6.25 % sodium nitrite (type 1)", "6.25 % nitrite + 4 % nitrate (type 2)")
SPOON_CURE = NITRITE_CURE.replace("amount: 2.4 g", "amount: 1/2 tsp")
GLAZE = "name: coat\ningredients:\n  - {item: honey, amount: 2 tbsp}"
COAT = step("glaze", time="5 min", hands_on="yes", temperature="12 °C", use="coat")
RAW = (FREEZE, CURE, COLD_SMOKE)
MACKEREL = "mackerel, Atlantic"
