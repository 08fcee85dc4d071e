"""The safety rules: each with one method that meets it and one that does not."""

import importlib
import pkgutil

import pytest

from handbook.base.ranges import Range
from handbook.base.sources import source
from handbook.heat.lethality import organisms
from handbook.safety import rules
from handbook.safety.findings import RULES, findings
from handbook.safety.judging import Rule
from handbook.safety.limits import limits
from handbook.safety.rules import printed
from tests.handbook.safety_cases import (
    BELLY,
    CABBAGE,
    CHICKEN,
    CHILL,
    CHILL_THROUGH,
    CHOP,
    COLD_SMOKE,
    CURE,
    DRY_ENOUGH,
    EXACT,
    FREEZE,
    HAM,
    HOT_SMOKE,
    KEEP,
    LONG_VACUUM,
    MACKEREL,
    NITRATE_CURE,
    NITRITE_CURE,
    PREPARE,
    RAW,
    ROAST,
    SOUR,
    TROUT,
    VACUUM,
    case_of,
    cold_smoked,
    cooked,
    curve,
    for_audience,
    hot_smoked,
    kraut,
    levels,
    pumped,
    step,
    worst,
)
from tests.handbook.test_conditions import every_case


@pytest.mark.parametrize(
    ("rule", "meets", "fails", "level"),
    [
        ("core-temperature", cooked("75 °C"), cooked("70 °C"), "stop"),
        ("core-temperature", cooked("63 °C", CHOP, "3 min"), cooked("60 °C", CHOP, "3 min"), "stop"),
        (
            "core-temperature",
            hot_smoked(),
            hot_smoked(HOT_SMOKE.replace("72 °C", "62 °C"), CHILL, CHILL_THROUGH),
            "stop",
        ),
        (
            "core-temperature",
            hot_smoked(),
            hot_smoked(HOT_SMOKE.replace("30 min}", "5 min}"), CHILL, CHILL_THROUGH),
            "stop",
        ),
        ("core-temperature", cooked("72 °C", "egg, whole"), cooked("66 °C", "egg, whole"), "stop"),
        (
            "lethality",
            cooked(log_reductions={"salmonella-poultry": EXACT(8.0)}, house=for_audience("commercial")),
            cooked(log_reductions={"salmonella-poultry": EXACT(5.0)}, house=for_audience("commercial")),
            "stop",
        ),
        ("come-up-time", cooked("75 °C"), cooked("75 °C", core=curve((0, 4), (11, 76), (12, 76))), "stop"),
        (
            "cold-smoke-chamber",
            cold_smoked(),
            cold_smoked(FREEZE, CURE, COLD_SMOKE.replace("4 °C", "36 °C")),
            "stop",
        ),
        (
            "smoker-chamber",
            hot_smoked(),
            hot_smoked(HOT_SMOKE.replace("95 °C", "80 °C"), CHILL, CHILL_THROUGH),
            "stop",
        ),
        (
            "cold-work",
            cooked(),
            case_of(CHICKEN, "cook", PREPARE, step("salt", "cellar", "1 day", temperature="9 °C"), ROAST),
            "stop",
        ),
        (
            "thawing",
            cold_smoked(FREEZE, step("thaw", "fridge", "1 day"), CURE, COLD_SMOKE),
            cold_smoked(FREEZE, step("thaw", "bench", "8 h", temperature="18 °C"), CURE, COLD_SMOKE),
            "stop",
        ),
        (
            "growth-range-time",
            cooked(),
            case_of(CHICKEN, "cook", step("prepare", time="3 h", temperature="20 °C"), ROAST),
            "stop",
        ),
        ("cold-holding", cooked(), cooked(keeping=KEEP.replace("3 °C", "8 °C")), "stop"),
        (
            "unrefrigerated-keeping",
            cooked(keeping=KEEP.replace("3 °C", "18 °C"), measured=DRY_ENOUGH),
            cooked(keeping=KEEP.replace("3 °C", "18 °C"), water_activity=Range(0.80, 0.82, 0.84)),
            "stop",
        ),
        (
            "cooling-stages",
            hot_smoked(),
            hot_smoked(HOT_SMOKE, CHILL.replace("90 min", "5 h"), CHILL_THROUGH),
            "stop",
        ),
        (
            "cooling-stages",
            hot_smoked(),
            hot_smoked(HOT_SMOKE, CHILL, CHILL_THROUGH.replace("3 h", "9 h")),
            "stop",
        ),
        ("pack-salt", cold_smoked(), cold_smoked(water_phase_salt=Range(0.020, 0.022, 0.025)), "stop"),
        (
            "pack-salt",
            hot_smoked(water_phase_salt=EXACT(0.034), house=for_audience("commercial")),
            hot_smoked(water_phase_salt=EXACT(0.02), house=for_audience("commercial")),
            "stop",
        ),
        (
            "pack-barrier",
            case_of(TROUT, "dry cure", PREPARE, FREEZE, CURE, keeping=VACUUM, water_phase_salt=EXACT(0.06)),
            case_of(TROUT, "dry cure", PREPARE, FREEZE, CURE, keeping=VACUUM, water_phase_salt=EXACT(0.03)),
            "stop",
        ),
        (
            "pack-barrier",
            cooked(keeping=LONG_VACUUM),
            cooked(keeping=LONG_VACUUM.replace("3 °C", "4 °C"), water_phase_salt=EXACT(0.02)),
            "stop",
        ),
        (
            "pack-retail",
            cold_smoked(house=for_audience("retail"), keeping=VACUUM.replace("4 days", "40 h")),
            cold_smoked(house=for_audience("retail")),
            "stop",
        ),
        ("nitrite-maximum", pumped(EXACT(150)), pumped(EXACT(1500)), "stop"),
        ("nitrite-maximum", pumped(Range(100, 105, 110), BELLY), pumped(Range(110, 118, 126), BELLY), "stop"),
        (
            "nitrite-maximum",
            pumped(EXACT(150), "salmon, chum", NITRITE_CURE),
            pumped(EXACT(150), TROUT, NITRITE_CURE),
            "stop",
        ),
        (
            "nitrite-maximum",
            pumped(EXACT(190), HAM, NITRITE_CURE, house=for_audience("commercial")),
            pumped(EXACT(700), HAM, NITRITE_CURE, house=for_audience("commercial")),
            "stop",
        ),
        (
            "nitrate-maximum",
            pumped(EXACT(150), HAM, NITRATE_CURE, ingoing_nitrate_ppm=EXACT(100)),
            pumped(EXACT(110), BELLY, NITRATE_CURE, ingoing_nitrate_ppm=EXACT(100)),
            "stop",
        ),
        (
            "nitrite-minimum",
            pumped(EXACT(130), house=for_audience("commercial")),
            pumped(EXACT(60), house=for_audience("commercial")),
            "stop",
        ),
        ("ferment-salt", kraut(0.022), kraut(0.009), "stop"),
        ("ferment-salt", kraut(0.022), kraut(0.045), "act"),
        ("ferment-temperature", kraut(), kraut(warm="29 °C"), "act"),
        ("ferment-temperature", kraut(), kraut(warm="9 °C"), "stop"),
        ("ferment-time", kraut(), kraut(days="7 days"), "stop"),
        ("ferment-ph", kraut(measured=SOUR), kraut(measured=SOUR.replace("3.7", "5.0")), "stop"),
        ("parasite-freezing", cold_smoked(), cold_smoked(CURE, COLD_SMOKE), "stop"),
        (
            "parasite-freezing",
            cold_smoked(),
            cold_smoked(FREEZE.replace("-22 °C", "-18 °C"), CURE, COLD_SMOKE),
            "stop",
        ),
        (
            "parasite-freezing",
            cold_smoked(),
            cold_smoked(FREEZE.replace("8 days", "5 days"), CURE, COLD_SMOKE),
            "stop",
        ),
        (
            "histamine",
            case_of(MACKEREL, "hot smoke", step("prepare", time="20 min", temperature="8 °C"), CURE, HOT_SMOKE),
            case_of(MACKEREL, "hot smoke", PREPARE, step("salt", "fridge", "20 days"), HOT_SMOKE),
            "stop",
        ),
        ("keeping-time", cooked(), cooked(keeping=KEEP.replace("4 days", "12 days")), "stop"),
        ("keeping-time", hot_smoked(), hot_smoked(keeping=KEEP.replace("4 days", "30 days")), "stop"),
        (
            "keeping-frozen",
            hot_smoked(keeping=KEEP + "\nfrozen: 60 days"),
            hot_smoked(keeping=KEEP + "\nfrozen: 300 days"),
            "note",
        ),
    ],
)
def test_each_rule_is_met_by_one_method_and_not_by_another(rule, meets, fails, level):
    """The method that meets a rule shows it as met with nothing worse; the other shows the level of the rule."""
    assert worst(meets, rule) == "met", levels(meets, rule)
    assert worst(fails, rule) == level, levels(fails, rule)


#: Rules whose methods stand in the verdict table (tests/verdicts).
_ELSEWHERE = {"computed-core", "form-in-words", "interrupted-cooking", "sealed-food"}


def test_every_rule_is_reached_by_some_method_here():
    """No rule is dead: the methods of this file and those of every condition show every one that binds here."""
    shown = [
        cold_smoked(FREEZE, step("thaw", "fridge", "1 day"), *RAW, house=for_audience("retail")),
        kraut(),
        hot_smoked(),
        pumped(
            EXACT(150),
            HAM,
            NITRATE_CURE,
            ingoing_nitrate_ppm=EXACT(90),
            log_reductions={"salmonella": EXACT(7)},
        ),
        cooked(keeping=KEEP.replace("3 °C", "18 °C")),
        case_of(MACKEREL, "hot smoke", PREPARE, CURE, HOT_SMOKE, keeping=KEEP + "\nfrozen: 60 days"),
    ]
    european = {"parasite-heat", "cooling-law", "date-mark"}
    assert {each.rule for case in (*shown, *every_case()) for each in findings(case)} == set(
        RULES
    ) - european - _ELSEWHERE


def _rules_written() -> list[Rule]:
    """Every rule that stands in a file of rules, those beside a list of RULES too."""
    files = [importlib.import_module(f"{rules.__name__}.{each.name}") for each in pkgutil.iter_modules(rules.__path__)]
    return [value for file in files for value in vars(file).values() if isinstance(value, Rule)]


def test_what_is_known_to_fail_stops_unless_it_is_quality():
    """Only a figure that its document prints for taste or texture may fail without a stop, and the page says so."""
    written = _rules_written()
    assert {each.id for each in written} >= set(RULES) - {each.id for each in printed.RULES}
    soft = [each for each in written if each.on_fail != "stop"]
    assert {each.id for each in soft} == {"keeping-frozen", "ferment-salt", "ferment-temperature"}
    assert all(each.is_quality for each in soft)
    for case in (kraut(0.045), kraut(warm="29 °C"), hot_smoked(keeping=KEEP + "\nfrozen: 300 days")):
        said = [each for each in findings(case) if each.rule in {each.id for each in soft} and each.verdict != "meets"]
        assert any("For quality, not for safety." in each.message for each in said)


def test_acid_as_measured_stands_in_for_weeks_and_warmth():
    """The sheets ask weeks and warmth for their acid [21 CFR 114.3(b): pH 4.6]; a measured pH above it does not."""
    for short in ({"days": "7 days"}, {"warm": "9 °C"}):
        assert "stop" not in {
            worst(kraut(measured=SOUR, **short), rule) for rule in ("ferment-time", "ferment-temperature")
        }
    still_sweet = kraut(days="7 days", measured=SOUR.replace("3.7", "5.0"))
    assert worst(still_sweet, "ferment-time") == "stop"


def test_salt_of_a_pack_without_air_is_known_or_stops():
    """3.5 % in the water of the loin [fda-fish-guidance-quoted, chapter 13]: by analysis, or as computed; else a stop."""
    lab = "- {what: water-phase salt, value: %s, where: thickest place, how: lab, record: sample 1}"
    assert worst(cold_smoked(water_phase_salt=None), "pack-salt") == "stop"
    assert worst(cold_smoked(water_phase_salt=EXACT(0.02), measured=lab % "3.8 %"), "pack-salt") == "met"
    assert worst(cold_smoked(water_phase_salt=EXACT(0.05), measured=lab % "2.9 %"), "pack-salt") == "stop"


def test_a_piece_that_no_model_follows_is_judged_and_not_refused():
    """For food that must be cooked the unknown core is a stop, for vegetables a note; a measured run needs no model."""
    dry = {"unfollowed": "this piece leaves the range of the heat model"}
    assert worst(cooked(**dry), "computed-core") == "stop"
    assert worst(cooked(**dry, is_measured=True), "computed-core") == ""
    roast = case_of(CABBAGE, "cook", PREPARE, step("cook", "oven", "9 h", chamber="120 °C"), salting=None, **dry)
    assert worst(roast, "computed-core") == "note"
    assert "range of the heat model" in next(each.figure for each in findings(roast) if each.rule == "computed-core")


def test_a_computed_core_decides_over_the_chamber():
    """The sheet's 200 °F chamber is the means; with a computed core the rule of the core speaks."""
    low = HOT_SMOKE.replace("95 °C", "80 °C")
    known = hot_smoked(low, CHILL, CHILL_THROUGH, core=curve((0, 4), (2, 74), (3, 74), (4, 20), (8, 3)))
    assert worst(known, "smoker-chamber") == "note"


# ------------------------------------------------------------------ deliberately unsafe methods
@pytest.mark.parametrize(
    ("rule", "case"),
    [
        ("pack-salt", cold_smoked(water_phase_salt=Range(0.018, 0.021, 0.024))),  # too little salt in vacuum
        ("nitrite-maximum", pumped(EXACT(1480))),  # nitrite x 10
        (
            "cooling-stages",
            hot_smoked(HOT_SMOKE, CHILL.replace("90 min", "6 h"), CHILL_THROUGH),
        ),  # slow cooling
        ("parasite-freezing", cold_smoked(CURE, COLD_SMOKE)),  # cold-smoked without freezing
        ("core-temperature", cooked("65 °C", keeping=None)),  # poultry under temperature
    ],
)
def test_an_unsafe_method_stops_with_the_right_rule_and_no_other(rule, case):
    """Exactly that rule stops it, and the finding says figure, limit and source."""
    found = [each for each in findings(case) if each.level == "stop"]
    assert {rule} == {each.rule for each in found}
    for each in found:
        assert each.figure and each.printed and source(each.source) and each.trust and each.audience
        assert each.certainty == "known to fail"


# ------------------------------------------------------------------ unknown is unknown
@pytest.mark.parametrize(
    ("rule", "case"),
    [
        (
            "core-temperature",
            case_of(CHICKEN, "cook", PREPARE, step("cook", "oven", "40 min", chamber="200 °C")),
        ),
        ("cooling-stages", hot_smoked(HOT_SMOKE, step("cool", "fridge", "6 h"))),
        ("pack-salt", cold_smoked(water_phase_salt=None)),
        ("nitrite-maximum", pumped(None)),
        ("cold-holding", cooked(keeping="pack: air\ntime: 3 days")),
        ("cold-work", case_of(CHICKEN, "cook", PREPARE, step("rest", "cellar", "1 day"), ROAST)),
        ("parasite-freezing", cold_smoked(step("freeze", "freezer", "8 days"), CURE, COLD_SMOKE)),
    ],
)
def test_what_is_not_known_is_never_a_pass(rule, case):
    """No stated and no computed value: a stop that says so."""
    found = [each for each in findings(case) if each.rule == rule]
    assert worst(case, rule) == "stop", levels(case, rule)
    assert any(each.certainty == "not known" for each in found)
    assert not any(each.level == "met" for each in found)
    assert any("not known" in each.figure or "states no" in each.figure for each in found)


def test_lethality_takes_the_organisms_of_the_model():
    """Every organism of the lethality tables that has a target here is recognised by its key."""
    keys = [key for key in organisms() if "salmonella" in key or "listeria" in key]
    assert keys
    for key in keys:
        reductions = {key: EXACT(12.0)}
        shown = [
            case
            for case in (
                cooked(log_reductions=reductions),
                hot_smoked(log_reductions=reductions),
                cooked("70 °C", CHOP, "3 min", log_reductions=reductions),
            )
            if "lethality" in {each.rule for each in findings(case)}
        ]
        assert shown


# Worked cases made up to exercise the two-stage rule: 16 Del. Admin. Code 3-501.14 (read), numbers ours.
@pytest.mark.parametrize(
    ("first", "second", "ok"),
    [("90 min", "4 h", True), ("150 min", "150 min", False), ("2 h", "4 h", True), ("2 h", "5 h", False)],
)
def test_two_stage_cooling(first, second, ok):
    """Two hours to 21 °C and six in all to 5 °C: the six are the whole, not the second stage."""
    case = hot_smoked(HOT_SMOKE, CHILL.replace("90 min", first), CHILL_THROUGH.replace("3 h", second))
    assert (levels(case, "cooling-stages")["cooling-retail"] == "met") is ok


def test_every_limit_of_a_finding_is_in_the_list():
    """What a page cites can be looked up."""
    for case in (hot_smoked(), cold_smoked(), cooked(), pumped(EXACT(150)), kraut()):
        for each in findings(case):
            assert not each.source or (each.limit in limits() and source(each.source))
