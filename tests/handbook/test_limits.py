"""Safety limits: they read, they name their sources, and their figures are those printed."""

import re

import pytest

from handbook.base.errors import FaultsError, printable
from handbook.base.sources import source
from handbook.base.units import celsius
from handbook.safety.conditions import Condition
from handbook.safety.findings import RULES
from handbook.safety.limit_values import LIMIT_SHAPES
from handbook.safety.limits import AUDIENCES, REFERENCE_PLACES, limits, limits_of, read_limits


def limit_of(text):
    """The limit that a YAML text gives."""
    return next(iter(read_limits(text, file="limits.yml").values()))


def test_every_limit_belongs_to_a_rule_and_every_rule_with_limits_is_known():
    """No limit stands without a rule that uses it. Five rules hold words of this handbook and no printed limit."""
    without = {"computed-core", "form-in-words", "law", "sealed-food", "plant-food-not-judged"}
    assert {each.rule for each in limits().values()} == set(RULES) - without
    assert set(RULES) == set(LIMIT_SHAPES)


@pytest.mark.parametrize("limit", limits().values(), ids=lambda each: each.id)
def test_trust_of_a_limit_is_that_of_its_source(limit):
    """A limit cannot look better known than the source it names."""
    assert limit.trust == source(limit.source).trust
    assert set(limit.audience) <= set(AUDIENCES)


@pytest.mark.parametrize("limit", limits().values(), ids=lambda each: each.id)
def test_the_printed_text_holds_the_figure(limit):
    """Every figure used stands in the words shown beside it, so the two cannot drift apart."""
    numbers = set(re.findall(r"\d+(?:\.\d+)?", limit.printed.replace("3 1/2", "3.5").replace("1/4", "0.25")))
    for name, value in limit.values:
        if name in ("cumulative", "counts_rest", "water", "hot_room", "hot_time") or name.startswith("warm"):
            continue
        text = f"{value:g}" if isinstance(value, float) else value.text
        figure = f"{float(re.findall(r'-?[0-9.]+', text)[0].lstrip('-')):g}"
        spelled = {f"{float(each):g}" for each in numbers}
        words = {"7": "seven", "6": "six", "0": "no"}
        inference = limit.source == "curing-salt-by-omission"
        assert inference or figure in spelled or words.get(figure, "?") in limit.printed, (name, text)


# Converted by hand from the printed °F: (F - 32) x 5/9. Sources: see each limit.
@pytest.mark.parametrize(
    ("key", "name", "degrees"),
    [
        ("cold-work-home", "temperature", 4.4),  # 40 °F, printed 4.4 °C by FDA
        ("cold-work-retail", "temperature", 5.0),  # 41 °F, printed 5 °C by the Food Code
        ("parasite-freeze-7-days", "temperature", -20.0),  # -4 °F, printed -20 °C
        ("parasite-freeze-15-hours", "temperature", -35.0),  # -31 °F, printed -35 °C
        ("cold-smoke-chamber-fda", "chamber", 32.2),  # 90 °F, printed 32.2 °C
        ("cold-holding-vacuum-fish-fda", "temperature", 3.3),  # 38 °F, printed 3.3 °C
    ],
)
def test_values_in_kelvin_agree_with_the_celsius_that_the_source_prints(key, name, degrees):
    """Half the last printed digit."""
    assert celsius(limits()[key].value(name)) == pytest.approx(degrees, abs=0.051)


def test_cooling_rows_are_in_si():
    """Two hours to 21 °C and six in all to 5 °C: 16 Del. Admin. Code 3-501.14 (read)."""
    first, whole = limits()["cooling-retail"].rows
    assert (celsius(first[0]), celsius(first[1]), first[2]) == pytest.approx((57.2, 21.1, 7200), abs=0.05)
    assert (celsius(whole[0]), celsius(whole[1]), whole[2]) == pytest.approx((57.2, 5.0, 21600), abs=0.05)


def test_roast_table_is_the_one_printed():
    """COMAR 10.15.03.10, chart 1 (read): °F and holding time; 149, 153 and 157 °F by the Food Code as quoted."""
    printed = {
        130: 112,
        131: 89,
        133: 56,
        135: 36,
        136: 28,
        138: 18,
        140: 12,
        142: 8,
        144: 5,
        145: 4,
        147: 134 / 60,
        149: 85 / 60,
        151: 54 / 60,
        153: 34 / 60,
        155: 22 / 60,
        157: 14 / 60,
        158: 0,
    }
    rows = {round(celsius(core) * 9 / 5 + 32): hold / 60 for core, hold in limits()["retail-cook-roasts"].rows}
    assert rows == pytest.approx(printed)


def test_limits_of_asks_for_every_condition():
    """A limit with conditions fits only when all of them hold."""
    no_air = frozenset({Condition.NO_AIR})
    vacuum = limits_of("pack-salt", "fish", "cold smoke", no_air | {Condition.SMOKED})
    assert [each.id for each in vacuum] == ["pack-salt-vacuum", "pack-salt-vacuum-maine"]
    assert not limits_of("pack-salt", "pork", "cold smoke", no_air | {Condition.SMOKED})
    assert not limits_of("pack-salt", "fish", "cold smoke", no_air)


def test_a_house_is_judged_by_its_place_and_by_the_default_where_the_place_has_nothing():
    """Freezing of fish has European rows of its own; cold storage has none."""
    places = [
        {each.place for each in limits_of(rule, "fish", "cook", frozenset(), place)}
        for rule, place in (("parasite-freezing", "European Union"), ("cold-holding", "European Union"))
    ]
    assert places == [{"European Union"}, {"United States", "international"}]
    for place in ("United States", "none named"):
        found = limits_of("parasite-freezing", "fish", "cook", frozenset(), place)
        assert {each.place for each in found} == {"United States"}


@pytest.mark.parametrize("limit", limits().values(), ids=lambda each: each.id)
def test_a_place_that_no_house_can_name_never_decides(limit):
    """Its documents are references or older editions, shown beside."""
    assert limit.place not in REFERENCE_PLACES or limit.standing != "current"


def test_ways_of_which_one_is_enough_are_several_and_of_one_rule():
    """A word of one_of that stands alone would be a slip."""
    ways = {}
    for each in limits().values():
        if each.one_of:
            ways.setdefault(each.one_of, []).append(each.rule)
    assert {"poultry core", "freezing", "unrefrigerated"} <= set(ways)
    assert all(len(rules) > 1 and len(set(rules)) == 1 for rules in ways.values())


GOOD = (
    "a: {rule: used-brine, title: t, printed: p, source: food-code-cooking, trust: read, audience: [home], "
    "place: United States}"
)
#: As a fault line prints a long list: cut short.
CONDITIONS = printable(", ".join(Condition), 600)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            GOOD.replace("food-code-cooking", "food-code-cookin"),
            'a.source: read "food-code-cookin"; allowed: a key of sources.yml. Did you mean food-code-cooking?',
        ),
        (
            GOOD.replace("trust: read", "trust: second hnd"),
            'a.trust: read "second hnd"; allowed: read, second-hand, from memory, computed, common practice.'
            " Did you mean second-hand?",
        ),
        (
            GOOD.replace("[home]", "[homes]"),
            'a.audience.1: read "homes"; allowed: home, retail, commercial. Did you mean home?',
        ),
        (
            GOOD.replace(", audience: [home]", ""),
            "a.audience: read nothing; allowed: a list of 1 to 400, each: home, retail, commercial",
        ),
        (
            GOOD.replace("place: United States", "place: Europe"),
            'a.place: read "Europe"; allowed: United States, European Union, United Kingdom, Canada, international, anywhere',
        ),
        (
            GOOD.replace(", place: United States", ""),
            "a.place: read nothing; allowed: United States, European Union, United Kingdom, Canada, international, anywhere",
        ),
        (
            GOOD.replace("used-brine", "core-temperature").replace("title: t", "title: t, dwell: chicken 8"),
            'a.dwell: read "chicken 8"; allowed: meat 6.5, meat 7, meat 5, chicken 7, turkey 7, other poultry 7.'
            " Did you mean chicken 7?",
        ),
        (GOOD.replace("title: t", "title: ''"), "a.title: read nothing; allowed: text of 1 to 120 characters"),
        (
            GOOD.replace("title: t", "title: t, when: [injectedd]"),
            f'a.when.1: read "injectedd"; allowed: {CONDITIONS}. Did you mean injected?',
        ),
        (
            GOOD.replace("title: t", "title: t, foods: [porc]"),
            'a.foods.1: read "porc"; allowed: fish, shellfish, poultry, pork, beef, lamb, game, egg, cheese, tofu, '
            "vegetable, fruit, nut, pulse. Did you mean pork?",
        ),
        (
            GOOD.replace("title: t", "title: t, kinds: [hot smokd]"),
            'a.kinds.1: read "hot smokd"; allowed: hot smoke, cold smoke, cook, dry cure, brine, ferment, pickle, dried.'
            " Did you mean hot smoke?",
        ),
        (
            GOOD.replace("title: t", "title: t, standing: older"),
            'a.standing: read "older"; allowed: current, older edition, reference',
        ),
        (
            GOOD.replace("used-brine", "cold-work").replace("title: t", "title: t, values: {temprature: 40 °F}"),
            'a.values: read "temprature"; allowed: temperature. Did you mean temperature?',
        ),
        (
            GOOD.replace("used-brine", "nitrite-maximum"),
            "a.values: read nothing; allowed: ingoing or finished",
        ),
        (
            GOOD.replace("title: t", "title: t, table: [[145 °F, 3 min]]"),
            "a.table: read a table; allowed: no table for used-brine",
        ),
        (GOOD.replace("used-brine", "cooling-stages"), "a.values: read nothing; allowed: a table"),
        (
            GOOD.replace("used-brine", "cold-work").replace("title: t", "title: t, values: {temperature: warm}"),
            'a.values.temperature: read "warm"; allowed: one number and a unit',
        ),
    ],
)
def test_a_wrong_limit_names_file_line_word_and_what_is_allowed(text, message):
    """One line, with the nearest allowed word where one is near."""
    with pytest.raises(FaultsError) as caught:
        limit_of(text)
    assert str(caught.value).startswith(f"limits.yml:1: {message}")
    assert len(caught.value.faults) == 1


def test_every_fault_of_the_limits_is_told_in_one_run_at_its_own_line():
    """Three faults in two limits: three lines, each with the line of the word."""
    text = f"{GOOD}\nb:\n  rule: used-brin\n  title: t\n  printed: p\n  when:\n    - minced\n    - mincd\n"
    text += "  source: food-code-cooking\n  trust: red\n  audience: [home]\n  place: anywhere\n"
    with pytest.raises(FaultsError) as caught:
        read_limits(text, file="limits.yml")
    assert [each.line for each in caught.value.faults] == [3, 8, 10]


def test_a_limit_of_another_text_reads():
    """Values with units and plain numbers; conditions in the closed list."""
    text = GOOD.replace("used-brine", "ferment-ph").replace("title: t", "title: t, values: {ph: 4.6}, when: [minced]")
    assert limit_of(text).value("ph") == 4.6
    assert limit_of(text).when == (Condition.MINCED,)
