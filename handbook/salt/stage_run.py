"""One stage of a run: all samples at once, salt and sugar, and the figures read from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import BathCoupling
from handbook.salt.solute_stage import (
    SATURATION,
    SoluteCourse,
    SoluteReading,
    StirredBath,
    bath_course,
    rinse_course,
    sealed_course,
    search_times,
    time_reached,
)
from handbook.salt.uptake_records import ArrayRange, SoluteState, Stage, TimeRange, UptakeCurve
from handbook.uncertainty.sampling import ends, times_of

OUTER_LAYER = 0.003  # m, what counts as the outside of a piece
#: Points of a curve as parts of the stage; they lie closer at its start, where uptake is fast.
CURVE_PARTS = np.linspace(0.0, 1.0, 21) ** 2
_NEVER = TimeRange(low=None, typical=None, high=None)
#: Maps what the readers read, shapes (n, times), to values that stay at or above 0 once the answer is reached.
_Question = Callable[..., Floats]


@dataclass(frozen=True, eq=False, kw_only=True)
class UptakeSetting:
    """What holds for all stages. Arrays of shape (n,), row 0 typical.

    lengths : m; solids : what is neither water nor salt, of green mass
    """

    shape: Geometry
    lengths: Floats
    solids: Floats

    @cached_property
    def readers(self) -> list[Floats]:
        """Of the mean, the centre and the outer layer."""
        return [self.mean, self.shape.centre, self.shape.outer(OUTER_LAYER / self.lengths)]

    @property
    def mean(self) -> Floats:
        """Reader of the mean."""
        reader: Floats = np.eye(1, self.shape.size)[0]
        return reader

    def first(self) -> UptakeSetting:
        """The setting of the typical run alone."""
        return UptakeSetting(shape=self.shape, lengths=self.lengths[:1], solids=self.solids[:1])


@dataclass(frozen=True, eq=False, kw_only=True)
class SampledStage:
    """The inputs of one stage, sample by sample, shape (n,): names as in Stage, rates D / L^2 in 1/s."""

    duration: Floats
    salt_rate: Floats
    sugar_rate: Floats
    amounts: dict[str, Floats]

    @property
    def fouriers(self) -> tuple[Floats, Floats]:
        """D t / L^2 of salt and of sugar at the end of the stage, shape (n,)."""
        return self.duration * self.salt_rate, self.duration * self.sugar_rate

    def first(self) -> SampledStage:
        """The inputs of the typical run alone."""
        return SampledStage(
            duration=self.duration[:1],
            salt_rate=self.salt_rate[:1],
            sugar_rate=self.sugar_rate[:1],
            amounts={name: each[:1] for name, each in self.amounts.items()},
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class StageRun:
    """A stage under way: courses of salt and sugar, and how much water the food holds."""

    stage: Stage
    setting: UptakeSetting
    drawn: SampledStage
    salt: SoluteCourse
    sugar: SoluteCourse | None
    water: Floats
    bath: StirredBath | None
    salt_start: Floats
    salt_total: Floats

    @classmethod
    def begin(cls, stage: Stage, setting: UptakeSetting, drawn: SampledStage, state: SoluteState) -> StageRun:
        """Set the stage up from what is in the piece. Raises RangeError where water gained or lost is impossible."""
        water, (salt, sugar), bath, total = _courses(
            stage, setting, drawn, state, _water_gain(stage, setting, drawn, state)
        )
        return cls(
            stage=stage,
            setting=setting,
            drawn=drawn,
            salt=salt,
            sugar=sugar,
            water=water,
            bath=bath,
            salt_start=state.salt[:, 0],
            salt_total=total,
        )

    @cached_property
    def salt_reading(self) -> SoluteReading:
        """Mean, centre, outer layer and bath."""
        return self.salt.reading(self.setting.readers)

    @cached_property
    def sugar_reading(self) -> SoluteReading | None:
        """The mean, and the bath."""
        return self.sugar.reading([self.setting.mean]) if self.sugar else None

    def water_after(self, part: Floats) -> Floats:
        """Water per kg of green food, shape (n, times), after ``part`` (times,) of the stage: lost at an even pace."""
        lost = self.drawn.amounts["water_loss"]
        return self.water[:, None] - lost[:, None] * part

    def _figures(self, values: Floats, sugar: Floats, water: Floats) -> dict[str, Floats]:
        setting = self.setting
        mass = setting.solids[:, None] + water + values[0] + sugar
        found = {
            "salt_mass_fraction": values[0] / mass,
            "water_phase_mean": _strength(values[0], water),
            "water_phase_centre": _strength(values[1], water),
            "water_phase_outer": _strength(values[2], water),
            "sugar_mass_fraction": sugar / mass,
            "food_mass_ratio": mass,
            "salt_on_green_weight": values[0],
        }
        if self.bath is not None:
            found["bath_water_phase_salt"] = _bath_strength(values[3], self.bath)
        return found

    def stretched(self) -> tuple[Floats, dict[str, Floats]]:
        """Typical times (t,) and figures (n, t) over the stage as done, each sample's time stretched to the typical."""
        salt_times, sugar_times = (np.multiply.outer(end, CURVE_PARTS) for end in self.drawn.fouriers)
        reading = self.sugar_reading
        sugar = reading.at(sugar_times, 1)[0] if reading else np.zeros(sugar_times.shape)
        figures = self._figures(self.salt_reading.at(salt_times), sugar, self.water_after(CURVE_PARTS))
        return self.drawn.duration[0] * CURVE_PARTS, figures

    def end(self) -> tuple[SoluteState, dict[str, Floats], float]:
        """At the end: what is in the piece, its figures (n,), and the largest relative error of the salt balance."""
        salt_end, sugar_end = self.drawn.fouriers
        salt, bath = self.salt.state(salt_end)
        sugar = self.sugar.state(sugar_end)[0] if self.sugar else np.zeros_like(salt)
        water = self.water_after(np.ones(1))
        held = salt[:, 0] + (bath if bath is not None else 0.0)
        is_followed = self.bath is not None or self.stage.is_sealed
        scale = np.maximum(np.abs(self.salt_total), 1e-12)
        error = float(np.max(np.abs(held - self.salt_total) / scale)) if is_followed else 0.0
        _, centre, outer = self.setting.readers
        values = [salt[:, 0], salt @ centre, (salt * outer).sum(axis=1)]
        values += [] if bath is None else [bath]
        figures = self._figures(np.stack(values)[:, :, None], sugar[:, :1], water)
        return (
            SoluteState(salt=salt, sugar=sugar, water=water[:, 0]),
            {name: each[:, 0] for name, each in figures.items()},
            error,
        )

    def equilibrium(self) -> Floats | None:
        """Salt mass fraction that this bath (the last one, if renewed) leads to, shape (n,); None without a bath."""
        if self.bath is None:
            return None
        salt = self._salt_at_rest()
        sugar = self.sugar.segments[-1].evolution.rest if self.sugar else 0.0
        return salt / (self.setting.solids + self.water + salt + sugar)

    def times(self, target: float | None, evenness: float) -> dict[str, TimeRange]:
        """Times to the target, to 90 and 95 % of equilibrium, and to evenness, the stage going on for long."""
        found = dict.fromkeys(("time_to_target", "time_to_90", "time_to_95", "time_to_even"), _NEVER)
        if self.stage.kind not in ("soak", "dry cure", "rest"):
            return found
        questions = {"time_to_even": lambda mean, centre: evenness * np.abs(mean) - np.abs(centre - mean)}
        if self.bath is not None:
            rest = self._salt_at_rest()[:, None]
            way = np.abs(rest - self.salt_start[:, None])
            questions["time_to_90"] = lambda mean, _: 0.10 * way - np.abs(rest - mean)
            questions["time_to_95"] = lambda mean, _: 0.05 * way - np.abs(rest - mean)
            if target is not None:
                questions["time_to_target"] = self._past(target)
        reached = self._reached(list(questions.values()), self.salt_reading, 2)
        return found | dict(zip(questions, reached, strict=True))

    def time_to(self, target: float) -> TimeRange:
        """Time until the food holds ``target`` salt, mass fraction, in its bath, the stage going on for long."""
        if self.bath is None:
            return _NEVER
        return self._reached([self._past(target)], self.salt.reading([self.setting.mean]), 1)[0]

    def _reached(self, questions: list[_Question], reading: SoluteReading, readers: int) -> list[TimeRange]:
        """Time of each question: a function of what the first ``readers`` read that stays at or over 0 once reached."""

        def above(fourier: Floats) -> Floats:
            values = reading.at(fourier, readers)
            return np.stack([question(*values) for question in questions])

        times = search_times() if self.bath is not None else search_times(1.5 * max(self.setting.shape.lengths) ** 2)
        reached = time_reached(above, times)
        return [time_range(each / self.drawn.salt_rate) for each in reached]

    def _past(self, target: float) -> _Question:
        """The question whether ``target`` is reached."""
        rest, aim = self._salt_at_rest()[:, None], self.salt_for(target)[:, None]
        is_rising = self.salt_start[:, None] < aim
        return lambda mean, *_: np.where(is_rising, mean - aim, np.where(rest >= aim, 0.0, aim - mean))

    def salt_for(self, salt_mass_fraction: float) -> Floats:
        """Salt per kg of green food, shape (n,), that makes this fraction of the food as it is in the bath.

        Sugar counts as at rest in the bath.
        """
        sugar = self.sugar.segments[-1].evolution.rest if self.sugar else 0.0
        return salt_mass_fraction / (1 - salt_mass_fraction) * (self.setting.solids + self.water + sugar)

    def _salt_at_rest(self) -> Floats:
        last = self.salt.segments[-1]
        # Where undissolved salt outlasts everything, food and bath rest at saturation.
        return np.where(np.isfinite(last.begin), last.evolution.rest, SATURATION["salt"] * self.water)


def curve(seconds: Floats, figures: dict[str, Floats]) -> UptakeCurve:
    """The Curve of figures (n, t), each with its band, at ``seconds`` (t,)."""
    names = (
        "salt_mass_fraction",
        "water_phase_mean",
        "water_phase_centre",
        "water_phase_outer",
        "sugar_mass_fraction",
        "bath_water_phase_salt",
    )
    present = [name for name in names if name in figures]
    low, typical, high = ends(np.stack([figures[name] for name in present], axis=1))
    bands = {name: ArrayRange(low=low[at], typical=typical[at], high=high[at]) for at, name in enumerate(present)}
    return UptakeCurve(seconds=seconds, bath_water_phase_salt=bands.pop("bath_water_phase_salt", None), **bands)


def time_range(values: Floats) -> TimeRange:
    """Band of times, shape (n,), infinite ones as None."""
    return TimeRange(*times_of(values))


#: Water of the food, courses of salt and sugar, bath of salt, and all salt in food and bath.
_Courses = tuple[Floats, tuple[SoluteCourse, SoluteCourse | None], StirredBath | None, Floats]


def _courses(stage: Stage, setting: UptakeSetting, drawn: SampledStage, state: SoluteState, gained: Floats) -> _Courses:
    """Water (n,), courses of salt and sugar, the bath of salt, and all salt in food and bath (n,)."""
    amounts = drawn.amounts
    water = state.water + gained
    salt_start, sugar_start = state.salt, state.sugar
    if stage.kind == "inject":
        pumped, salt, sugar = (amounts[name] for name in ("pump", "pump_salt_fraction", "pump_sugar_fraction"))
        salt_start = salt_start + setting.shape.uniform(pumped * salt)
        sugar_start = sugar_start + setting.shape.uniform(pumped * sugar)
        water = water + pumped * (1 - salt - sugar)
    left = water - amounts["water_loss"]
    if left.min() <= 0.01:
        raise RangeError("water_loss", float((water - left).max()), "less than the food's own water")
    bath_water = amounts["bath_water"] - gained
    if stage.has_bath and bath_water.min() <= 0:
        raise RangeError("weight_gain", float(gained.max()), "less water than the bath holds")
    courses: dict[str, SoluteCourse] = {}
    baths: dict[str, StirredBath] = {}
    exchange = BathCoupling.between(setting.shape, bath_water / water) if stage.has_bath else None
    starts = {"salt": salt_start, "sugar": sugar_start}
    for (solute, start), end in zip(starts.items(), drawn.fouriers, strict=True):
        baths[solute] = StirredBath(water=bath_water, solute=amounts[f"bath_{solute}"])
        if solute == "sugar" and not start.any() and not baths[solute].solute.any():
            continue
        if exchange is not None:
            changes = stage.water_changes
            courses[solute] = bath_course(
                exchange, start, water, baths[solute], SATURATION[solute], end / (changes + 1), changes
            )
        elif stage.kind == "rinse":
            courses[solute] = rinse_course(setting.shape, start)
        else:
            courses[solute] = sealed_course(setting.shape, start)
    bath = baths["salt"] if stage.has_bath else None
    total = salt_start[:, 0] + (bath.solute if bath is not None else 0.0)
    if stage.water_changes:
        # What the earlier baths took away is gone: the balance is that of the last bath.
        last = courses["salt"].segments[-1].evolution
        total = last.rest if last.bath_rest is None else last.rest + last.bath_rest
    return water, (courses["salt"], courses.get("sugar")), bath, total


def _water_gain(stage: Stage, setting: UptakeSetting, drawn: SampledStage, state: SoluteState) -> Floats:
    """Water that goes from the bath into the food at the start of the stage, shape (n,); below 0 outward."""
    if stage.kind == "dry cure":
        return -drawn.amounts["drawn_water"]
    if stage.weight_gain is None or not stage.has_bath:
        return np.zeros(len(state.water))
    # The stated change of weight is water and solutes together; the typical run says how much of it is solutes.
    first = SoluteState(salt=state.salt[:1], sugar=state.sugar[:1], water=state.water[:1])
    typical, its_drawn = setting.first(), drawn.first()
    gain, solutes = drawn.amounts["weight_gain"], 0.0
    for _ in range(3):
        _, courses, _, _ = _courses(stage, typical, its_drawn, first, gain[:1] - solutes)
        ends = zip(courses, its_drawn.fouriers, strict=True)
        held = (course.state(end)[0][0, 0] for course, end in ends if course)
        solutes = float(sum(held) - first.salt[0, 0] - first.sugar[0, 0])
    return gain - solutes


def _strength(amount: Floats, water: Floats) -> Floats:
    return amount / (amount + water)


def _bath_strength(amount: Floats, bath: StirredBath) -> Floats:
    """Salt / (salt + water) of the bath's brine. Undissolved salt keeps it at saturation."""
    per_water: Floats = np.minimum(amount / bath.water[:, None], SATURATION["salt"])
    return per_water / (1 + per_water)
