"""One solute through one stage: a chain of exact evolutions, with the salt that lies undissolved followed too."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import BathCoupling, ModalSolution, SolutionTable, held_surface, sealed

#: Water-phase saturation, kg solute per kg water, at fridge to room temperature [nacl-solubility, sucrose-density].
SATURATION = {"salt": 0.3587, "sugar": 2.0}
#: D t / L^2 from which to which a time is looked for; a piece is at rest in a bath long before the end.
_FIRST_FOURIER, _LAST_FOURIER = 3e-5, 12.0


@dataclass(frozen=True, eq=False, kw_only=True)
class StirredBath:
    """What the piece lies in: water and solute per kg of green food, shape (n,) each."""

    water: Floats
    solute: Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class Segment:
    """One evolution from ``begin``, D t / L^2, shape (n,), inf where a sample never gets there.

    outside : amount of solute in food and bath together, where the bath's amount follows by balance; else None
    """

    begin: Floats
    evolution: ModalSolution
    outside: Floats | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class SoluteCourse:
    """The segments of one solute in one stage, in order; its clock is D t / L^2 ("fourier")."""

    segments: tuple[Segment, ...]

    def reading(self, readers: list[Floats]) -> SoluteReading:
        """What ``readers`` (the first one the mean) and the bath show, ready for any times."""
        evolutions = [segment.evolution for segment in self.segments]
        return SoluteReading(
            course=self, tables=tuple(each.table(readers, each.bath_rest is not None) for each in evolutions)
        )

    def state(self, fourier: Floats) -> tuple[Floats, Floats | None]:
        """Profiles (n, r) and amounts in the bath (n,) at ``fourier``, shape (n,)."""
        profile: Floats | None = None
        bath: Floats | None = None
        for segment, inside in self.inside(fourier):
            if not inside.any():
                continue
            states, amounts = segment.evolution.state(_since(fourier, segment.begin))
            if segment.outside is not None:
                amounts = segment.outside - states[:, 0]
            if profile is None:
                profile, bath = states, amounts
                continue
            profile = np.where(inside[:, None], states, profile)
            bath = None if amounts is None or bath is None else np.where(inside, amounts, bath)
        if profile is None:
            raise ValueError("fourier: read times before the start of the stage; allowed: 0 or more")
        return profile, bath

    def inside(self, fourier: Floats) -> Iterator[tuple[Segment, npt.NDArray[np.bool_]]]:
        """Each segment, and which of the times ``fourier``, shape (n,) or (n or 1, times), lie between it and the next.

        A segment wins over those before it.
        """
        begins = [each.begin if fourier.ndim == 1 else each.begin[:, None] for each in self.segments]
        ends: list[Floats | float] = [*begins[1:], np.inf]
        for segment, begin, end in zip(self.segments, begins, ends, strict=True):
            yield segment, (fourier >= begin) & (fourier < end)


@dataclass(frozen=True, eq=False, kw_only=True)
class SoluteReading:
    """Values over time of one course: a table for each of its segments."""

    course: SoluteCourse
    tables: tuple[SolutionTable, ...]

    def at(self, fourier: Floats, first: int | None = None) -> Floats:
        """Values (readers + 1 for the bath if any, n, times), or of the ``first`` ones.

        ``fourier`` : shape (n, times), or (1, times) for all samples alike, rising from time to time
        """
        if len(self.tables) == 1:
            return self.tables[0].at(fourier, first)
        found: Floats | None = None
        for table, (segment, inside) in zip(self.tables, self.course.inside(fourier), strict=True):
            times = np.flatnonzero(inside.any(axis=0))
            if len(times) == 0:
                continue
            span = slice(times[0], times[-1] + 1)
            values = table.at(_since(fourier[:, span], segment.begin[:, None]), first)
            if first is None and segment.outside is not None:
                values = np.concatenate([values, (segment.outside[:, None] - values[0])[None]])
            if found is None:
                found = np.empty((len(values), *inside.shape))
            np.copyto(found[:, :, span], values, where=inside[:, span])
        if found is None:
            raise ValueError("fourier: read no times; allowed: at least one, 0 or more")
        return found


def sealed_course(shape: Geometry, start: Floats) -> SoluteCourse:
    """Nothing crosses; the profile of ``start``, amounts per kg of green food, shape (n, r), evens out."""
    return SoluteCourse(segments=(Segment(begin=np.zeros(len(start)), evolution=sealed(shape, start)),))


def rinse_course(shape: Geometry, start: Floats) -> SoluteCourse:
    """Running water: the surface is held free of solute."""
    nothing = np.zeros(len(start))
    return SoluteCourse(segments=(Segment(begin=nothing, evolution=held_surface(shape, start, nothing)),))


def bath_course(
    exchange: BathCoupling,
    start: Floats,
    water: Floats,
    bath: StirredBath,
    saturation: float,
    change_after: Floats | None = None,
    changes: int = 0,
) -> SoluteCourse:
    """Piece with ``water`` per kg of green food, shape (n,), in a stirred bath.

    The bath is renewed with plain water ``changes`` times, each time D t / L^2 = ``change_after``, shape (n,), later.
    While more solute lies in the bath than its water can dissolve, the surface is held at saturation; when the food
    has taken up the excess, the bath goes on as one of limited size.
    """
    nothing = np.zeros(len(start))
    solid = bath.solute > saturation * bath.water
    if solid.any():
        total = start[:, 0] + bath.solute
        held = held_surface(exchange.shape, start, water * saturation)
        switch = np.where(solid, _solid_gone(held, total - saturation * bath.water), 0.0)
        known = np.where(np.isfinite(switch), switch, 0.0)
        profile = np.where(solid[:, None], held.state(known)[0], start)
        limited = exchange.evolution(profile, total - profile[:, 0])
        segments = [Segment(begin=nothing, evolution=held, outside=total), Segment(begin=switch, evolution=limited)]
    else:
        segments = [Segment(begin=nothing, evolution=exchange.evolution(start, bath.solute))]
    for change in range(1, changes + 1):
        begin = nothing if change_after is None else change_after * change
        profile, _ = SoluteCourse(segments=tuple(segments)).state(begin)
        segments.append(Segment(begin=begin, evolution=exchange.evolution(profile, nothing)))
    return SoluteCourse(segments=tuple(segments))


def search_times(last: float = _LAST_FOURIER, count: int = 32) -> Floats:
    """D t / L^2, shape (1, count), rising from nearly 0 to long after rest, to look for a time in."""
    return np.geomspace(_FIRST_FOURIER, last, count)[None]


def time_reached(above: Callable[[Floats], Floats], times: Floats, rounds: int = 4) -> Floats:
    """Times, shape (questions, n), from which ``above`` stays at or over 0.

    ``above`` maps times, shape (n, t), to values (questions, n, t). ``times``, shape (n, t) or (1, t), rise and cover
    what is looked for. 0: over 0 at all of them; inf: below 0 at the last. Regula falsi (Illinois) inside the last
    bracket.
    """
    on_grid = above(times)
    times = np.broadcast_to(times, on_grid.shape[1:])
    below = on_grid < 0
    last = times.shape[1] - 1 - np.argmax(below[:, :, ::-1], axis=2)
    inside = below.any(axis=2) & (last < times.shape[1] - 1)
    left = np.where(inside, last, 0)
    rows, questions = np.arange(len(times)), np.arange(len(on_grid))
    low, high = times[rows, left], times[rows, left + 1]
    value_low, value_high = (np.take_along_axis(on_grid, at[:, :, None], 2)[:, :, 0] for at in (left, left + 1))
    side = np.zeros(low.shape)
    for _ in range(rounds):
        middle = low + _share(value_low, value_high) * (high - low)
        value = above(middle.T)[questions, :, questions]
        to_low = value < 0
        value_high = np.where(to_low & (side > 0), value_high / 2, value_high)
        value_low = np.where(~to_low & (side < 0), value_low / 2, value_low)
        low, high = np.where(to_low, middle, low), np.where(to_low, high, middle)
        value_low, value_high = np.where(to_low, value, value_low), np.where(to_low, value_high, value)
        side = np.where(to_low, 1.0, -1.0)
    found = low + _share(value_low, value_high) * (high - low)
    return np.where(inside, found, np.where(below.any(axis=2), np.inf, 0.0))


def _share(value_low: Floats, value_high: Floats) -> Floats:
    gap = value_high - value_low
    share: Floats = np.where(gap > 0, np.clip(-value_low / np.where(gap > 0, gap, 1.0), 0.0, 1.0), 0.5)
    return share


def _solid_gone(held: ModalSolution, enough: Floats) -> Floats:
    """D t / L^2 at which the food holds ``enough``, shape (n,); inf where it never does."""
    table = held.table([np.eye(1, len(held.modes))[0]])

    def above(fourier: Floats) -> Floats:
        return table.at(fourier) - enough[:, None]

    first: Floats = time_reached(above, np.geomspace(1e-8, 40.0, 48)[None], rounds=8)[0]
    return first


def _since(fourier: Floats, begin: Floats) -> Floats:
    """Time gone by since ``begin``, 0 before it."""
    elapsed: Floats = np.maximum(fourier - np.where(np.isfinite(begin), begin, 0.0), 0.0)
    return elapsed
