"""The list of what is not judged covers every rule that shows limits without a verdict, and the site prints it."""

from handbook.safety.findings import RULES
from handbook.safety.not_judged import not_judged
from handbook.safety.rules import printed


def test_every_limit_shown_without_a_verdict_is_on_the_list():
    named = [rule for each in not_judged() for rule in each.rules]
    assert sorted(named) == sorted(each.id for each in printed.RULES)
    assert set(named) <= set(RULES)
    assert len({each.what for each in not_judged()}) == len(not_judged())
    assert all(each.why.endswith(".") for each in not_judged())
