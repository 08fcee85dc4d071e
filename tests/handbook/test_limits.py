"""Safety limits: they read, they name their sources, and their figures are those printed."""

import re

import pytest

from handbook.errors import SourceError
from handbook.limits import AUDIENCES, limits, limits_of, read_limit
from handbook.safety import RULES
from handbook.sources import source
from handbook.units import celsius
from handbook.yaml_text import parse_yaml


def limit_of(text):
    """The limit that a YAML text gives."""
    key, line, entry = parse_yaml(text, "limits.yml").entries[0]
    return read_limit(key, line, entry)


def test_every_limit_belongs_to_a_rule_and_every_rule_with_limits_is_known():
    """No limit stands without a rule that uses it."""
    assert {each.rule for each in limits().values()} == set(RULES)


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
        if name in ("cumulative", "water", "hot_room", "hot_time") or name.startswith("warm"):
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
    """COMAR 10.15.03.10, chart 1 (read): °F and holding time, every row."""
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
        151: 54 / 60,
        155: 22 / 60,
        158: 0,
    }
    rows = {round(celsius(core) * 9 / 5 + 32): hold / 60 for core, hold in limits()["retail-cook-roasts"].rows}
    assert rows == pytest.approx(printed)


def test_limits_of_asks_for_every_condition():
    """A limit with conditions fits only when all of them hold."""
    vacuum = limits_of("pack-salt", "fish", "cold smoke", frozenset({"vacuum"}))
    assert [each.id for each in vacuum] == ["pack-salt-vacuum"]
    assert not limits_of("pack-salt", "pork", "cold smoke", frozenset({"vacuum"}))
    assert not limits_of("pack-salt", "fish", "cook", frozenset({"vacuum"}))


GOOD = "a: {rule: r, title: t, printed: p, source: food-code-cooling, trust: read, audience: [home]}"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            GOOD.replace("food-code-cooling", "food-code-cool"),
            "limits.yml:1: a: source: read food-code-cool; allowed: a key of sources.yml."
            " Did you mean food-code-cooling?",
        ),
        (
            GOOD.replace("trust: read", "trust: sure"),
            "limits.yml:1: a: trust: read sure; allowed: read, second-hand, from memory, computed, common practice",
        ),
        (
            GOOD.replace("[home]", "[cooks]"),
            "limits.yml:1: a: audience: read cooks; allowed: home, retail, commercial",
        ),
        (
            GOOD.replace(", audience: [home]", ""),
            "limits.yml:1: a: audience: read nothing; allowed: home, retail, commercial",
        ),
        (GOOD.replace("title: t", "title: ''"), "limits.yml:1: a: title: read nothing; allowed: text"),
        (
            GOOD.replace("title: t", "titel: t"),
            "limits.yml:1: a: read ['titel']; allowed: audience, edition, foods, "
            "kinds, note, printed, rule, section, source, standing, table, title, trust, values, when",
        ),
    ],
)
def test_a_wrong_limit_is_a_source_error(text, message):
    """The message names the line, what was read and what is allowed."""
    with pytest.raises(SourceError) as caught:
        limit_of(text)
    assert message == str(caught.value)


def test_a_value_without_a_unit_is_a_source_error():
    """A temperature needs its unit; only plain numbers such as a pH go without."""
    with pytest.raises(SourceError, match=r"limits.yml:1: a: values: read \"40 F\""):
        limit_of(GOOD.replace("printed: p", "printed: p, values: {temperature: 40 F}"))
    assert limit_of(GOOD.replace("printed: p", "printed: p, values: {ph: 4.6}")).value("ph") == 4.6
