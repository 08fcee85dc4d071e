"""One stage of a run: salt and sugar of all samples at once, and the figures computed from them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.salt.solute_stage import SATURATION, SoluteCourse, SoluteReading, StirredBath
from handbook.salt.stage_start import (
    SampledPiece,
    SampledStage,
    pumped_state,
    stage_courses,
    water_course,
    water_entry,
)
from handbook.salt.time_search import search_times, time_reached
from handbook.salt.uptake_curves import time_range
from handbook.salt.uptake_records import SoluteState, Stage, TimeRange
from handbook.salt.water_course import CURVE_PARTS, WaterCourse

_SATURATED = SATURATION["salt"] / (1 + SATURATION["salt"])
EVEN = 0.1  # share of the mean by which centre and mean may differ and still count as even
_NEVER = TimeRange(low=None, typical=None, high=None)
#: Maps the values at the readers, shapes (n, times), to values that stay at or above 0 once the answer is reached.
_Question = Callable[..., Floats]


class StageRun(Struct, frozen=True, eq=False, kw_only=True, dict=True):
    """A stage in progress: courses of salt, sugar and water. Arrays have shape (n,), row 0 typical.

    rest_water : water of the food in equilibrium with the bath; without a bath, its own water
    """

    stage: Stage
    piece: SampledPiece
    inputs: SampledStage
    salt: SoluteCourse
    sugar: SoluteCourse | None
    water: WaterCourse
    rest_water: Floats
    bath: StirredBath | None
    salt_start: Floats
    salt_total: Floats

    @classmethod
    def begin(cls, stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> StageRun:
        """Set up the stage from the state of the piece. Raises RangeError where more water is lost than the piece holds."""
        started = pumped_state(stage, piece, inputs, state)
        entry = water_entry(stage, piece, inputs, started)
        (salt, sugar), bath, total = stage_courses(stage, piece, inputs, started, entry)
        return cls(
            stage=stage,
            piece=piece,
            inputs=inputs,
            salt=salt,
            sugar=sugar,
            water=water_course(stage, piece, inputs, started, entry),
            rest_water=entry.surface,
            bath=bath,
            salt_start=state.salt[:, 0],
            salt_total=total,
        )

    @cached_property
    def salt_reading(self) -> SoluteReading:
        """Readings of the mean, centre, outer layer and bath."""
        return self.salt.reading(self.piece.readers)

    @cached_property
    def sugar_reading(self) -> SoluteReading | None:
        """Readings of the mean and the bath."""
        return self.sugar.reading([self.piece.mean]) if self.sugar else None

    def _figures(self, values: Floats, sugar: Floats, water: Floats) -> dict[str, Floats]:
        """Figures from the values of salt and water at the readers: mean, centre, outer layer; salt of the bath last."""
        mass = self.piece.solids[:, None] + water[0] + values[0] + sugar
        found = {
            "salt_mass_fraction": values[0] / mass,
            "water_phase_mean": _strength(values[0], water[0]),
            "water_phase_centre": _strength(values[1], water[1]),
            "water_phase_outer": _strength(values[2], water[2]),
            "sugar_mass_fraction": sugar / mass,
            "food_mass_ratio": mass,
            "salt_on_green_weight": values[0],
        }
        if self.bath is not None:
            found["bath_water_phase_salt"] = _bath_strength(values[3], self.bath)
        return found

    def stretched(self) -> tuple[Floats, dict[str, Floats]]:
        """Figures over the stage, with each sample's time stretched to the typical one.

        t_i = part_i t_typical, figures_i = figures(part_i t_sample)

        Returns
        -------
        array (t,) [s], typical times
        dict of arrays (n, t) [-], the figures

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

        Examples
        --------
        >>> from handbook.salt.salt_example import SOAKING
        >>> seconds, figures = SOAKING.stretched()
        >>> round(float(seconds[-1]) / 86400), round(float(figures["salt_mass_fraction"][0, -1]), 4)
        (30, 0.0172)
        """
        past = self.stage.parts(self.stage.diffusing)
        salt_times, sugar_times = (np.multiply.outer(end, past) for end in self.inputs.fouriers)
        reading, kept = self.sugar_reading, self.water.kept
        sugar = reading.at(sugar_times, 1)[0] * kept if reading else np.zeros(sugar_times.shape)
        salt = self.salt_reading.at(salt_times)
        if self.stage.drip.high > 0:
            _drain(salt, kept)
        figures = self._figures(salt, sugar, self.water.at(self.piece.readers))
        return self.inputs.duration[0] * CURVE_PARTS, figures

    def end(self) -> tuple[SoluteState, dict[str, Floats], float]:
        """State and figures at the end of the stage, and the error of the salt balance.

        error = max(|salt_food + salt_bath - salt_total| / salt_total)

        Returns
        -------
        SoluteState
        dict of arrays (n,) [-], the figures
        float [-], largest relative error of the salt balance; 0 in running water, where the loss is not computed

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

        Examples
        --------
        >>> from handbook.salt.salt_example import SOAKING
        >>> state, figures, error = SOAKING.end()
        >>> round(float(figures["water_phase_mean"][0]), 4), error < 1e-9
        (0.0229, True)
        """
        salt_end, sugar_end = self.inputs.fouriers
        salt, bath = self.salt.state(salt_end)
        sugar = self.sugar.state(sugar_end)[0] if self.sugar else np.zeros_like(salt)
        moisture, kept = self.water.end(), self.water.kept[:, -1:]
        held = salt[:, 0] + (bath if bath is not None else 0.0)
        is_followed = self.bath is not None or self.stage.is_sealed
        scale = np.maximum(np.abs(self.salt_total), 1e-12)
        error = float(np.max(np.abs(held - self.salt_total) / scale)) if is_followed else 0.0
        values = [*self._read(salt), *([] if bath is None else [bath])]
        drained = np.stack(values)[:, :, None]
        _drain(drained, kept)
        salt, sugar = salt * kept, sugar * kept
        water = np.stack(self._read(moisture))[:, :, None]
        figures = {name: each[:, 0] for name, each in self._figures(drained, sugar[:, :1], water).items()}
        figures["water_phase_surface"] = _strength(salt @ self.piece.shape.surface, moisture @ self.piece.shape.surface)
        return SoluteState(salt=salt, sugar=sugar, moisture=moisture), figures, error

    def _read(self, states: Floats) -> list[Floats]:
        _, centre, outer = self.piece.readers
        return [states[:, 0], states @ centre, (states * outer).sum(axis=1)]

    def equilibrium(self) -> Floats | None:
        """Salt mass fraction of the food in equilibrium with this bath (the last one, if renewed).

        x = s / (solids + W + s + sugar), s = (s_0 + b) / (1 + alpha)

        Returns
        -------
        array (n,) [-]; None without a bath

        Notes
        -----
        Source: mass balance; no empirical constant. Valid for a closed vessel; above saturation the food reaches
        saturation.

        Examples
        --------
        0.04 kg of salt in 0.96 + 0.75 kg of water leave 0.01754 per kg of food, 0.01724 of its new mass:

        >>> from handbook.salt.salt_example import SOAKING
        >>> round(float(SOAKING.equilibrium()[0]), 5)
        0.01724
        """
        if self.bath is None:
            return None
        salt = self._equilibrium_salt()
        sugar = self.sugar.segments[-1].evolution.equilibrium if self.sugar else 0.0
        return salt / (self.piece.solids + self.rest_water + salt + sugar)

    def times(self, target: float | None) -> dict[str, TimeRange]:
        """Times to the target, to 90 and 95 % of equilibrium, and to evenness, with the stage continuing indefinitely.

        |s_eq - s(t)| = 0.10 |s_eq - s_0|, 0.05 |s_eq - s_0|; |centre - mean| = EVEN mean

        Parameters
        ----------
        target : float [-]
            Mean salt mass fraction; None for no target.

        Returns
        -------
        dict of TimeRange [s]

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid for soaks, dry cures and rests. Other stages
        have no such times.

        Examples
        --------
        >>> from handbook.salt.salt_example import SOAKING
        >>> round(SOAKING.times(None)["time_to_90"].typical / 86400, 1)
        2.9
        """
        found = dict.fromkeys(("time_to_target", "time_to_90", "time_to_95", "time_to_even"), _NEVER)
        if self.stage.kind not in ("soak", "dry cure", "rest"):
            return found
        questions = {"time_to_even": lambda _, mean, centre: EVEN * np.abs(mean) - np.abs(centre - mean)}
        if self.bath is not None:
            questions["time_to_90"], questions["time_to_95"] = self._within(0.10), self._within(0.05)
            if target is not None:
                questions["time_to_target"] = self._past(target)
        reached = self._reached(list(questions.values()), self.salt_reading, 2)
        return found | dict(zip(questions, reached, strict=True))

    def time_to(self, target: float | None) -> TimeRange:
        """Time until the food holds a mean salt mass fraction, with the stage continuing indefinitely.

        x(t) = target, or |s_eq - s(t)| = 0.05 |s_eq - s_0|

        Parameters
        ----------
        target : float [-]
            None for 95 % of the way to equilibrium.

        Returns
        -------
        TimeRange [s]; never without a bath

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

        Examples
        --------
        >>> from handbook.salt.salt_example import SOAKING
        >>> round(SOAKING.time_to(0.01).typical / 3600)
        18
        """
        if self.bath is None:
            return _NEVER
        question = self._within(0.05) if target is None else self._past(target)
        return self._reached([question], self.salt.reading([self.piece.mean]), 1)[0]

    def _reached(self, questions: list[_Question], reading: SoluteReading, readers: int) -> list[TimeRange]:
        """Time of each question: a function of the values at the first ``readers`` that stays at or above 0 once reached."""

        def above(fourier: Floats) -> Floats:
            values = reading.at(fourier, readers)
            return np.stack([question(fourier, *values) for question in questions])

        times = search_times() if self.bath is not None else search_times(1.5 * max(self.piece.shape.lengths) ** 2)
        reached = time_reached(above, times)
        return [time_range(each / self.inputs.salt_rate) for each in reached]

    def _within(self, share: float) -> _Question:
        """The question whether at most ``share`` of the way to equilibrium is left."""
        equilibrium = self._equilibrium_salt()[:, None]
        way = np.abs(equilibrium - self.salt_start[:, None])
        return lambda _, mean, *__: share * way - np.abs(equilibrium - mean)

    def _past(self, target: float) -> _Question:
        """The question whether ``target`` is reached."""
        equilibrium, aim_at_rest = self._equilibrium_salt()[:, None], self._salt_at(target, self.rest_water)[:, None]
        first = self._salt_at(target, self.water.start[:, 0])[:, None]
        is_rising = self.salt_start[:, None] < first

        def past(fourier: Floats, mean: Floats, *_: Floats) -> Floats:
            water = self.water.mean_at(fourier)
            aim = aim_at_rest if water is None else _amount(target, self._dry[:, None] + water)
            return np.where(is_rising, mean - aim, np.where(equilibrium >= aim_at_rest, 0.0, aim - mean))

        return past

    @property
    def _dry(self) -> Floats:
        """Solids and sugar in equilibrium with the bath."""
        return self.piece.solids + (self.sugar.segments[-1].evolution.equilibrium if self.sugar else 0.0)

    def _salt_at(self, salt_mass_fraction: float, water: Floats) -> Floats:
        """Salt at which the food, with this water and the sugar of its equilibrium, has a salt mass fraction."""
        return _amount(salt_mass_fraction, self._dry + water)

    def _equilibrium_salt(self) -> Floats:
        last = self.salt.segments[-1]
        # With undissolved salt left, food and bath are in equilibrium at saturation.
        return np.where(np.isfinite(last.begin), last.evolution.equilibrium, SATURATION["salt"] * self.rest_water)


def _amount(fraction: float, others: Floats) -> Floats:
    """Mass that is ``fraction`` of the sum of itself and ``others``."""
    return fraction / (1 - fraction) * others


def _drain(values: Floats, kept: Floats) -> None:
    """Move the salt of dripped juice from the food's values (the first three rows) to the bath."""
    if len(values) > 3:
        values[3] += values[0] * (1.0 - kept)
    values[:3] *= kept


def _strength(amount: Floats, water: Floats) -> Floats:
    """Salt / (salt + water), at most saturation. Where a rim is too dry to dissolve all its salt, the excess is crystals."""
    return np.minimum(amount / (amount + water), _SATURATED)


def _bath_strength(amount: Floats, bath: StirredBath) -> Floats:
    """Salt / (salt + water) of the bath's brine. Undissolved salt keeps it at saturation."""
    per_water: Floats = np.minimum(amount / bath.water[:, None], SATURATION["salt"])
    return per_water / (1 + per_water)
