"""The report of a method: every figure that the method's page shows."""

from __future__ import annotations

from msgspec import Struct

from handbook.base.ranges import Range
from handbook.catalogue.foods import Food
from handbook.page.method import Method
from handbook.page.schedule import Schedule
from handbook.report.acid_report import AcidReport
from handbook.report.calibration import Calibration
from handbook.report.casing_need import CasingNeed
from handbook.report.cost import Bill
from handbook.report.drying_report import DryingReport
from handbook.report.heat_course import HeatCourse
from handbook.report.middle_report import MiddleReport
from handbook.report.mixtures import FormulaReport, GlazeReport, MixtureReport, SaltingReport
from handbook.report.portions import Portion, Yield
from handbook.report.salt_course import SaltCourse
from handbook.report.stand_report import StandReport
from handbook.safety.findings import Finding, SafetyCase


class Report(Struct, frozen=True, kw_only=True):
    """Everything computed for one method except its cost, which is computed from its ``bill``.

    ``course`` is the heat run, ``salted`` the uptake run; ``salt`` is that of the finished food, including glazes.
    ``food`` is the mixture where the page has a ``formula``; ``filled`` is the food with the mixtures mixed into it, as
    it is heated. ``cases`` are the inputs of the safety rules, one for each food of a mixture.
    """

    method: Method
    food: Food
    saltings: tuple[SaltingReport, ...]
    glazes: tuple[GlazeReport, ...]
    schedule: Schedule
    finished: Yield
    portion: Portion
    bill: Bill
    allergens: tuple[str, ...]
    salt: Range
    course: HeatCourse | None
    salted: SaltCourse | None
    findings: tuple[Finding, ...]
    cases: tuple[SafetyCase, ...]
    calibration: Calibration | None = None
    drying: DryingReport | None = None
    stands: StandReport | None = None
    sour: AcidReport | None = None
    formula: FormulaReport | None = None
    filled: Food | None = None
    middle: MiddleReport | None = None
    casing: CasingNeed | None = None
    #: Ingredients of unknown salt. Every figure of the page's salt is then unknown.
    unknown_salt: tuple[str, ...] = ()

    @property
    def mixtures(self) -> tuple[MixtureReport, ...]:
        """All weighed mixtures: the formula, the saltings, the glazes."""
        return (*((self.formula,) if self.formula else ()), *self.saltings, *self.glazes)

    @property
    def food_masses(self) -> tuple[tuple[str, float], ...]:
        """The foods of the written batch, each with its mass in kg."""
        if self.formula is None:
            return ((self.method.front_matter.food, self.method.batches.written_for.low),)
        return tuple((part.ingredient.name, part.mass.typical) for part in self.formula.made.parts)

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the sources of the report's figures, without duplicates."""
        parts = [part for each in self.mixtures for part in each.made.parts]
        keys = [self.food.source, *(part.ingredient.source for part in parts)]
        if self.finished.basis == "typical":
            keys.append("typical-yield")
        if any(column.fill for each in self.saltings for column in each.columns):
            keys.append("container-practice")
        if any(each.equilibrium.ingoing_nitrite_ppm for each in self.saltings):
            keys.append("fsis-calculations-handbook")
        if self.salted is not None:
            keys += self.salted.sources
        if self.course is not None:
            keys.append("choi-okos-1986")
        if self.drying is not None:
            keys += ["muscle-isotherm", "pork-drying-sintef", "drying-diffusivity", "drying-room-air"]
            keys += ["degree-hours-rule"] if self.drying.degree_hours else []
        keys += ["casing-capacity"] if self.casing is not None else []
        if self.middle is not None and self.middle.is_raw:
            keys.append("ham-resting")
        if self.sour is not None:
            keys += self.sour.sources
        if self.stands is not None:
            keys += ["water-heat", "salt-solution-heat"] if self.stands.brines else []
            keys += ["insulation-values"] if self.stands.boxes else []
        keys += [each.source for each in self.findings if each.source]
        return tuple(dict.fromkeys(keys))
