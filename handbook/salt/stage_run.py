"""One stage of a run: salt and sugar of all samples at once, and the figures read from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from handbook.base.arrays import Floats
from handbook.salt.solute_stage import SATURATION, SoluteCourse, SoluteReading, StirredBath
from handbook.salt.stage_start import SampledPiece, SampledStage, stage_courses, water_gain
from handbook.salt.time_search import search_times, time_reached
from handbook.salt.uptake_curves import time_range
from handbook.salt.uptake_records import SoluteState, Stage, TimeRange

#: Points of a curve as parts of the stage, denser at its start, where uptake is fast.
CURVE_PARTS = np.linspace(0.0, 1.0, 21) ** 2
_NEVER = TimeRange(low=None, typical=None, high=None)
#: Maps what the readers read, shapes (n, times), to values that stay at or above 0 once the answer is reached.
_Question = Callable[..., Floats]


@dataclass(frozen=True, eq=False, kw_only=True)
class StageRun:
    """A stage in progress: courses of salt and sugar, and the water of the food. Arrays have shape (n,), row 0 typical."""

    stage: Stage
    piece: SampledPiece
    inputs: SampledStage
    salt: SoluteCourse
    sugar: SoluteCourse | None
    water: Floats
    bath: StirredBath | None
    salt_start: Floats
    salt_total: Floats

    @classmethod
    def begin(cls, stage: Stage, piece: SampledPiece, inputs: SampledStage, state: SoluteState) -> StageRun:
        """Set up the stage from the state of the piece. Raises RangeError where more water is gained or lost than there is."""
        water, (salt, sugar), bath, total = stage_courses(
            stage, piece, inputs, state, water_gain(stage, piece, inputs, state)
        )
        return cls(
            stage=stage,
            piece=piece,
            inputs=inputs,
            salt=salt,
            sugar=sugar,
            water=water,
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

    def water_after(self, part: Floats) -> Floats:
        """Water of the food after a part of the stage.

        W(part) = W - water_loss part

        Parameters
        ----------
        part : array (times,) [-]
            Share of the stage, 0 to 1.

        Returns
        -------
        array (n, times) [kg / kg green food]

        Notes
        -----
        Source: mass balance; water leaves at a constant rate. Valid for 0 <= part <= 1.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> under_way.water_after(np.array([0.0, 1.0]))[0].tolist()
        [0.75, 0.75]
        """
        lost = self.inputs.amounts["water_loss"]
        return self.water[:, None] - lost[:, None] * part

    def _figures(self, values: Floats, sugar: Floats, water: Floats) -> dict[str, Floats]:
        piece = self.piece
        mass = piece.solids[:, None] + water + values[0] + sugar
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
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> seconds, figures = under_way.stretched()
        >>> round(float(seconds[-1]) / 86400), round(float(figures["salt_mass_fraction"][0, -1]), 4)
        (30, 0.0172)
        """
        salt_times, sugar_times = (np.multiply.outer(end, CURVE_PARTS) for end in self.inputs.fouriers)
        reading = self.sugar_reading
        sugar = reading.at(sugar_times, 1)[0] if reading else np.zeros(sugar_times.shape)
        figures = self._figures(self.salt_reading.at(salt_times), sugar, self.water_after(CURVE_PARTS))
        return self.inputs.duration[0] * CURVE_PARTS, figures

    def end(self) -> tuple[SoluteState, dict[str, Floats], float]:
        """State and figures at the end of the stage, and the error of the salt balance.

        error = max(|salt_food + salt_bath - salt_total| / salt_total)

        Returns
        -------
        SoluteState
        dict of arrays (n,) [-], the figures
        float [-], largest relative error of the salt balance; 0 in running water, where the loss is not followed

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> state, figures, error = under_way.end()
        >>> round(float(figures["water_phase_mean"][0]), 4), error < 1e-9
        (0.0229, True)
        """
        salt_end, sugar_end = self.inputs.fouriers
        salt, bath = self.salt.state(salt_end)
        sugar = self.sugar.state(sugar_end)[0] if self.sugar else np.zeros_like(salt)
        water = self.water_after(np.ones(1))
        held = salt[:, 0] + (bath if bath is not None else 0.0)
        is_followed = self.bath is not None or self.stage.is_sealed
        scale = np.maximum(np.abs(self.salt_total), 1e-12)
        error = float(np.max(np.abs(held - self.salt_total) / scale)) if is_followed else 0.0
        _, centre, outer = self.piece.readers
        values = [salt[:, 0], salt @ centre, (salt * outer).sum(axis=1)]
        values += [] if bath is None else [bath]
        figures = self._figures(np.stack(values)[:, :, None], sugar[:, :1], water)
        return (
            SoluteState(salt=salt, sugar=sugar, water=water[:, 0]),
            {name: each[:, 0] for name, each in figures.items()},
            error,
        )

    def equilibrium(self) -> Floats | None:
        """Salt mass fraction of the food in equilibrium with this bath (the last one, if renewed).

        x = s / (solids + W + s + sugar), s = (s_0 + b) / (1 + alpha)

        Returns
        -------
        array (n,) [-]; None without a bath

        Notes
        -----
        Source: mass balance; no empirical constant. Valid for a closed vessel; above saturation the food rests at saturation.

        Examples
        --------
        0.04 kg of salt in 0.96 + 0.75 kg of water leave 0.01754 per kg of food, 0.01724 of its new mass:

        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> round(float(under_way.equilibrium()[0]), 5)
        0.01724
        """
        if self.bath is None:
            return None
        salt = self._equilibrium_salt()
        sugar = self.sugar.segments[-1].evolution.equilibrium if self.sugar else 0.0
        return salt / (self.piece.solids + self.water + salt + sugar)

    def times(self, target: float | None, evenness: float) -> dict[str, TimeRange]:
        """Times to the target, to 90 and 95 % of equilibrium, and to evenness, with the stage continuing indefinitely.

        |s_eq - s(t)| = 0.10 |s_eq - s_0|, 0.05 |s_eq - s_0|; |centre - mean| = evenness mean

        Parameters
        ----------
        target : float [-]
            Mean salt mass fraction; None for no target.
        evenness : float [-]
            Largest difference of centre and mean, as a share of the mean.

        Returns
        -------
        dict of TimeRange [s]

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid for soaks, dry cures and rests; never for other stages.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> round(under_way.times(None, 0.1)["time_to_90"].typical / 86400, 1)
        2.9
        """
        found = dict.fromkeys(("time_to_target", "time_to_90", "time_to_95", "time_to_even"), _NEVER)
        if self.stage.kind not in ("soak", "dry cure", "rest"):
            return found
        questions = {"time_to_even": lambda mean, centre: evenness * np.abs(mean) - np.abs(centre - mean)}
        if self.bath is not None:
            equilibrium = self._equilibrium_salt()[:, None]
            way = np.abs(equilibrium - self.salt_start[:, None])
            questions["time_to_90"] = lambda mean, _: 0.10 * way - np.abs(equilibrium - mean)
            questions["time_to_95"] = lambda mean, _: 0.05 * way - np.abs(equilibrium - mean)
            if target is not None:
                questions["time_to_target"] = self._past(target)
        reached = self._reached(list(questions.values()), self.salt_reading, 2)
        return found | dict(zip(questions, reached, strict=True))

    def time_to(self, target: float) -> TimeRange:
        """Time until the food holds a mean salt mass fraction, with the stage continuing indefinitely.

        x(t) = target

        Parameters
        ----------
        target : float [-]

        Returns
        -------
        TimeRange [s]; never without a bath

        Notes
        -----
        Source: [crank-1975]; diffusivities by their own sources. Valid as handbook.salt.uptake.run.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> round(under_way.time_to(0.01).typical / 3600)
        18
        """
        if self.bath is None:
            return _NEVER
        return self._reached([self._past(target)], self.salt.reading([self.piece.mean]), 1)[0]

    def _reached(self, questions: list[_Question], reading: SoluteReading, readers: int) -> list[TimeRange]:
        """Time of each question: a function of what the first ``readers`` read that stays at or over 0 once reached."""

        def above(fourier: Floats) -> Floats:
            values = reading.at(fourier, readers)
            return np.stack([question(*values) for question in questions])

        times = search_times() if self.bath is not None else search_times(1.5 * max(self.piece.shape.lengths) ** 2)
        reached = time_reached(above, times)
        return [time_range(each / self.inputs.salt_rate) for each in reached]

    def _past(self, target: float) -> _Question:
        """The question whether ``target`` is reached."""
        equilibrium, aim = self._equilibrium_salt()[:, None], self.salt_for(target)[:, None]
        is_rising = self.salt_start[:, None] < aim
        return lambda mean, *_: np.where(is_rising, mean - aim, np.where(equilibrium >= aim, 0.0, aim - mean))

    def salt_for(self, salt_mass_fraction: float) -> Floats:
        """Salt that makes a mass fraction of the food as it is in the bath, its sugar at equilibrium.

        s = x / (1 - x) (solids + W + sugar)

        Parameters
        ----------
        salt_mass_fraction : float [-]

        Returns
        -------
        array (n,) [kg / kg green food]

        Notes
        -----
        Source: mass balance; no empirical constant. Valid for 0 <= x < 1.

        Examples
        --------
        >>> from handbook.base.ranges import Range
        >>> from handbook.salt.diffusivity import salt_diffusivity, sugar_diffusivity
        >>> from handbook.salt.uptake import Piece, Stage, last_stage
        >>> exact = Range.exact
        >>> chop = Piece(shape="slab", thickness=exact(0.02), water_fraction=exact(0.75), native_salt_fraction=exact(0.0),
        ...              salt_diffusivity=salt_diffusivity("pork"), sugar_diffusivity=sugar_diffusivity("pork"))
        >>> soak = Stage(kind="soak", duration=exact(30 * 86400.0), temperature=exact(278.15), bath_water=exact(0.96),
        ...              bath_salt=exact(0.04))
        >>> under_way = last_stage(chop, [soak])
        >>> round(float(under_way.salt_for(0.02)[0]), 4)
        0.0204
        """
        sugar = self.sugar.segments[-1].evolution.equilibrium if self.sugar else 0.0
        return salt_mass_fraction / (1 - salt_mass_fraction) * (self.piece.solids + self.water + sugar)

    def _equilibrium_salt(self) -> Floats:
        last = self.salt.segments[-1]
        # With undissolved salt left, food and bath are in equilibrium at saturation.
        return np.where(np.isfinite(last.begin), last.evolution.equilibrium, SATURATION["salt"] * self.water)


def _strength(amount: Floats, water: Floats) -> Floats:
    return amount / (amount + water)


def _bath_strength(amount: Floats, bath: StirredBath) -> Floats:
    """Salt / (salt + water) of the bath's brine. Undissolved salt keeps it at saturation."""
    per_water: Floats = np.minimum(amount / bath.water[:, None], SATURATION["salt"])
    return per_water / (1 + per_water)
