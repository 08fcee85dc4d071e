"""Which settings of the house a method's figures rest on, told from the method alone, without computing it.

A setting that is not listed here counts as moving every method: a new one is safe before it is precise. A test runs
the engine over a house that notes what is read, so that a rule here cannot grow too narrow unseen.
"""

from __future__ import annotations

from collections.abc import Iterable

from handbook.page.method import Method

#: Settings that no figure rests on.
WORDS_ONLY = ("kitchen", "address", "repository", "planning")
_WEIGHING = ("scale_step", "fine_scale_step", "fine_scale_limit", "household_tolerance")


def depends_on(method: Method, setting: str) -> bool:
    """Whether a figure of ``method`` may rest on ``setting``, a key of ``house_values``, such as ``prices: honey``."""
    kind, _, name = setting.partition(": ")
    mixtures = (*method.saltings, *method.glazes)
    if kind in WORDS_ONLY:
        return False
    if kind in _WEIGHING:
        return bool(mixtures)
    if kind == "batches":
        return bool(mixtures) and not method.batches.show
    if kind == "thicknesses":
        return bool(method.saltings)
    if kind == "containers":
        return any(each.is_bath for each in method.saltings)
    if kind == "ingredients" and name.startswith("salt"):
        return bool(mixtures)  # every crystal type of salt stands in the table of crystals
    if kind in ("prices", "foods", "ingredients"):
        # A bare name stands for one of its fillings, so that one's price and weight are meant too.
        items = [method.sheet.food, *(line.item for each in mixtures for line in each.ingredients)]
        return any(name == item or name.startswith(f"{item}, ") for item in items)
    if kind == "exceptions":
        return name.startswith(f"{method.name}: ")
    return True


def depends_on_any(method: Method, settings: Iterable[str]) -> bool:
    """Whether a figure of ``method`` may rest on one of ``settings``."""
    return any(depends_on(method, each) for each in settings)
