"""The weighed foods, saltings and glazes of a page, made up."""

from __future__ import annotations

from msgspec import Struct

from handbook.brine.equilibrium import Equilibrium
from handbook.brine.make_up import MakeUp
from handbook.catalogue.foods import Food
from handbook.catalogue.tables import Tables
from handbook.page.house import House
from handbook.page.method import Method
from handbook.report.cured_food import filled_food
from handbook.report.formula_foods import PageFood, page_food
from handbook.report.mixtures import GlazeReport, SaltingReport, glaze_on_batch, glaze_report, salting_report


class Weighed(Struct, frozen=True, kw_only=True):
    """The made-up foods, saltings and glazes of a page. ``filled`` is the food with the mixtures mixed into it."""

    whole: PageFood
    saltings: tuple[SaltingReport, ...]
    glazes: tuple[GlazeReport, ...]
    filled: Food
    written: Method

    @property
    def food(self) -> Food:
        """The food, or the mixture of them."""
        return self.whole.food

    @property
    def equilibrium(self) -> Equilibrium | None:
        """Equilibrium of the last salting."""
        return self.saltings[-1].equilibrium if self.saltings else None

    @property
    def salts(self) -> dict[str, MakeUp]:
        """The saltings' mixtures by name."""
        return {each.mixture.name: each.made for each in self.saltings}

    @property
    def glazings(self) -> dict[str, MakeUp]:
        """The glazes' mixtures by name."""
        return {each.mixture.name: each.made for each in self.glazes}

    @property
    def mixtures(self) -> dict[str, MakeUp]:
        """The mixtures of saltings and glazes by name."""
        return {**self.salts, **self.glazings}

    @property
    def made(self) -> list[MakeUp]:
        """Every mixture, saltings first."""
        return [each.made for each in (*self.saltings, *self.glazes)]


def weigh(written: Method, house: House, tables: Tables) -> Weighed:
    """Make up the ``written`` method's foods and mixtures; a mixture that cannot be made up raises PageError."""
    whole = page_food(written, tables)
    saltings = tuple(salting_report(each, written, whole, house, tables) for each in written.saltings)
    return Weighed(
        whole=whole,
        saltings=saltings,
        glazes=tuple(glaze_report(each, written, whole, house, tables) for each in written.glazes),
        filled=filled_food(whole.food, written, {each.mixture.name: each.made for each in saltings}),
        written=written,
    )


def cure_ppm(weighed: Weighed, method: Method) -> tuple[float, float]:
    """Ingoing nitrite and nitrate in ppm on green weight, of every salting and every glaze together."""
    batch = method.batches.written_for.low
    sums = []
    for what in ("nitrite", "nitrate"):
        ppm = sum(getattr(each.equilibrium, f"ingoing_{what}_ppm") for each in weighed.saltings)
        for each in weighed.glazes:
            share = glaze_on_batch(each, method) / each.made.mass if each.made.mass else 0.0
            ppm += each.made.total(what) * share / batch * 1e6
        sums.append(ppm)
    return sums[0], sums[1]


def accelerator_ppm(saltings: tuple[SaltingReport, ...]) -> float:
    """Ascorbate and erythorbate of pumped brines, in ppm on green weight."""
    return sum(
        part.mass.typical / each.made.mass * each.mixture.pump.middle * 1e6
        for each in saltings
        if each.mixture.pump is not None and each.made.mass
        for part in each.made.parts
        if "ascorbate" in part.ingredient.name or "erythorbate" in part.ingredient.name
    )
