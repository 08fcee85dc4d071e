"""Rules of thumb, hand-worked. They are common practice, no source, and stand beside the model, never in its place."""

from types import SimpleNamespace

import pytest

from handbook.page.rules_of_thumb import rule_of_thumb


def page(thickness, skin="off", mass=None, shape="bird"):
    middle = lambda value: SimpleNamespace(middle=value)  # noqa: E731
    return SimpleNamespace(
        pieces=SimpleNamespace(thickness=middle(thickness), skin=skin, shape=shape, mass=mass and middle(mass))
    )


@pytest.mark.parametrize(
    ("kind", "food_class", "method", "words"),
    [
        # 38.1 mm is 19.05 mm from each side, three quarter inches: 3 days and 2 more.
        ("dry cure", "pork", page(0.0381), "5 days for 38 mm"),
        # Skin on: all of 25.4 mm from one side, 4 days and 2.
        ("equilibrium", "poultry", page(0.0254, "on"), "6 days for 25 mm"),
        ("immersion", "fish", page(0.02), "at least 12 h and up to a day"),
        ("immersion", "poultry", page(0.1, mass=1.8144), "about 4 h"),
        ("ferment brine", "vegetable", page(0.03), ""),
        # An hour a pound is for whole birds, and a quarter inch a day for meat.
        ("immersion", "poultry", page(0.03, mass=0.18, shape="slab"), ""),
        ("equilibrium", "cheese", page(0.04), ""),
    ],
)
def test_rule_of_thumb(kind, food_class, method, words):
    """Each kind of salting gets its own rule or none."""
    said = rule_of_thumb(method, SimpleNamespace(kind=kind), food_class)
    assert words in said and bool(said) == bool(words)
