"""Decides which settings of the house a method's figures depend on, without computing the method.

A setting that is not listed here counts for every method, which is safe but imprecise. A test records which settings
the engine reads, so that no rule here is too narrow.
"""

from __future__ import annotations

from collections.abc import Iterable

from handbook.page.method import Method

#: Settings without effect on figures.
WORDS_ONLY = (
    "kitchen",
    "language",
    "mark",
    "colours",
    "footer",
    "address",
    "repository",
    "planning",
    "people_on_site",
)
_WEIGHING = ("scale_step", "fine_scale_step", "fine_scale_limit", "household_tolerance")


def depends_on(method: Method, setting: str) -> bool:
    """Whether a figure of ``method`` may depend on ``setting``, a key of ``house_values``, such as ``prices: honey``."""
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
        return bool(mixtures)  # the table of crystals contains every crystal type of salt
    if kind in ("prices", "foods", "ingredients"):
        # A bare name stands for one of its fillings, so the price and weight of that filling count too.
        items = [
            method.front_matter.food,
            *(part.food for part in method.formula),
            *(line.item for each in mixtures for line in each.ingredients),
        ]
        return any(name == item or name.startswith(f"{item}, ") for item in items)
    if kind == "exceptions":
        return name.startswith(f"{method.name}: ")
    return True


def depends_on_any(method: Method, settings: Iterable[str]) -> bool:
    """Whether a figure of ``method`` may depend on one of ``settings``."""
    return any(depends_on(method, each) for each in settings)
