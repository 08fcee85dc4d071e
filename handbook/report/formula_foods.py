"""The food of a page: the one it names, or the mixture of its formula; and the foods for the safety rules."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from handbook.base.errors import PageError, RangeError
from handbook.base.ranges import Range
from handbook.brine.make_up import IngredientMass, MakeUp
from handbook.catalogue.food_families import FLESH
from handbook.catalogue.foods import Food
from handbook.catalogue.ingredients import Ingredient
from handbook.catalogue.mixed_foods import mixed_food, with_own
from handbook.catalogue.tables import Tables
from handbook.page.method import Method

#: Animal foods: in a mixture with one, the vegetables are judged as part of it.
_ANIMAL = (*FLESH, "egg", "cheese")


class PageFood(Struct, frozen=True, kw_only=True):
    """The food of a page: ``food`` for the models, and its ``parts`` with their shares. Without a formula the page's
    own food is the only part. ``meat_share`` is the share of meat, poultry, fish, egg and cheese; 1 where there is none."""

    food: Food
    parts: tuple[tuple[Food, float], ...]
    meat_share: float

    @property
    def judged(self) -> tuple[Food, ...]:
        """The mixture with the name and class of each part that the rules judge, the page's own food first."""
        animal = [each for each, _ in self.parts if each.food_class in _ANIMAL]
        names = animal or [each for each, _ in self.parts]
        mixed = {part: getattr(self.food, part) for part in _SHARED}
        found = [replace(each, **mixed) for each in names]
        found.sort(key=lambda each: each.name != self.food.name)
        kinds: dict[tuple[str, str], Food] = {}
        for each in found:
            kinds.setdefault((each.food_class, each.name), each)
        return tuple(kinds.values())

    def masses(self, method: Method) -> tuple[tuple[str, float], ...]:
        """The foods of the written batch, each with its mass in kg."""
        return tuple((each.name, share * method.batches.written_for.low) for each, share in self.parts)

    @property
    def allergens(self) -> set[str]:
        """Allergens of all parts."""
        return {each.allergen for each, _ in self.parts} - {""}


_SHARED = (
    "water", "fat", "protein", "carbohydrate", "ash", "sodium", "density", "is_scombroid", "parasite_risk",
)  # fmt: skip


def page_food(method: Method, tables: Tables) -> PageFood:
    """The food of a method.

    Raises
    ------
    PageError   the fat and water that a part states do not fit its food
    """
    main = tables.foods[method.front_matter.food]
    if not method.formula:
        return PageFood(food=main, parts=((main, 1.0),), meat_share=1.0)
    batch, parts = method.batches.written_for.low, []
    for number, each in enumerate(method.formula, 1):
        own = (None if value is None else value.low for value in (each.fat, each.water))
        try:
            parts.append((with_own(tables.foods[each.food], *own), each.share(batch)))
        except RangeError as error:
            read = f"{error.value:.4g}"
            raise PageError(method.file, each.line, f"formula.{number}: {error.name}", read, error.allowed) from None
    own_main = next(food for food, _ in parts if food.name == main.name)
    meat = sum(share for food, share in parts if food.food_class in _ANIMAL)
    return PageFood(food=mixed_food(parts, own_main), parts=tuple(parts), meat_share=meat or 1.0)


def formula_make_up(found: PageFood, method: Method) -> MakeUp:
    """The parts of a formula as a list of weights for the written batch."""
    batch = method.batches.written_for.low
    return MakeUp(
        parts=tuple(
            IngredientMass(
                ingredient=_as_ingredient(food),
                mass=Range.exact(share * batch),
                written=line.amount.text,
                by_volume=False,
                note=line.note,
            )
            for (food, share), line in zip(found.parts, method.formula, strict=True)
        )
    )


def _as_ingredient(food: Food) -> Ingredient:
    return Ingredient(
        name=food.name,
        kind="food",
        kg_per_m3=None,
        pack_state="",
        water=food.water,
        salt=food.native_salt_fraction,
        sugars=0.0,
        sodium=food.sodium,
        nitrite=0.0,
        nitrate=0.0,
        piece_mass=None,
        allergens=(food.allergen,) if food.allergen else (),
        source=food.source,
        trust=food.trust,
    )
