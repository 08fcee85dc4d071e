"""One solute through one stage: a chain of exact evolutions, with the salt that lies undissolved followed too."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from handbook.diffusion import Geometry
from handbook.evolution import Evolution, Table, held_surface, sealed, stirred_bath

#: Water-phase saturation, kg solute per kg water, at fridge to room temperature [nacl-solubility, sucrose-density].
SATURATION = {"salt": 0.3587, "sugar": 2.0}
#: D t / L^2 from which to which a time is looked for; a piece is at rest in a bath long before the end.
_FIRST_FOURIER, _LAST_FOURIER = 3e-5, 12.0


@dataclass(frozen=True, eq=False)
class Bath:
    """What the piece lies in: water and solute per kg of green food, shape (n,) each."""

    water: np.ndarray
    solute: np.ndarray


@dataclass(frozen=True, eq=False)
class Segment:
    """One evolution from ``begin``, s, shape (n,), inf where a sample never gets there.

    outside : amount of solute in food and bath together, where the bath's amount follows by balance; else None
    """

    begin: np.ndarray
    evolution: Evolution
    outside: np.ndarray | None


@dataclass(frozen=True, eq=False)
class Course:
    """The segments of one solute in one stage, in order; ``rate`` = D / L^2 in 1/s, shape (n,)."""

    rate: np.ndarray
    segments: tuple[Segment, ...]

    def reading(self, readers: list[np.ndarray]) -> Reading:
        """What ``readers`` (the first one the mean) and the bath show, ready for any times."""
        evolutions = [segment.evolution for segment in self.segments]
        return Reading(self, tuple(each.table(readers, each.bath_rest is not None) for each in evolutions))

    def state(self, seconds: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
        """Profiles (n, r) and amounts in the bath (n,) at ``seconds``, shape (n,)."""
        profile = bath = None
        for segment in self.segments:
            since = np.where(np.isfinite(segment.begin), segment.begin, 0.0)
            states, amounts = segment.evolution.state(np.maximum(seconds - since, 0.0) * self.rate)
            if segment.outside is not None:
                amounts = segment.outside - states[:, 0]
            if profile is None:
                profile, bath = states, amounts
                continue
            here = seconds >= segment.begin
            profile = np.where(here[:, None], states, profile)
            bath = None if amounts is None else np.where(here, amounts, bath)
        return profile, bath


@dataclass(frozen=True, eq=False)
class Reading:
    """Values over time of one course: a table for each of its segments."""

    course: Course
    tables: tuple[Table, ...]

    def at(self, seconds: np.ndarray, first: int | None = None) -> np.ndarray:
        """Values (readers + 1 for the bath if any, n, times), or of the ``first`` ones, at ``seconds`` (n, times)."""
        found = None
        for segment, table in zip(self.course.segments, self.tables, strict=True):
            since = np.where(np.isfinite(segment.begin), segment.begin, 0.0)[:, None]
            values = table.at(np.maximum(seconds - since, 0.0) * self.course.rate[:, None], first)
            if first is None and segment.outside is not None:
                values = np.concatenate([values, (segment.outside[:, None] - values[0])[None]])
            found = values if found is None else np.where(seconds >= segment.begin[:, None], values, found)
        return found


def sealed_course(shape: Geometry, start: np.ndarray, rate: np.ndarray) -> Course:
    """Nothing crosses; the profile of ``start``, amounts per kg of green food, shape (n, r), evens out."""
    return Course(rate, (Segment(np.zeros(len(start)), sealed(shape, start), None),))


def rinse_course(shape: Geometry, start: np.ndarray, rate: np.ndarray) -> Course:
    """Running water: the surface is held free of solute."""
    return Course(rate, (Segment(np.zeros(len(start)), held_surface(shape, start, np.zeros(len(start))), None),))


def bath_course(
    shape: Geometry,
    start: np.ndarray,
    rate: np.ndarray,
    water: np.ndarray,
    bath: Bath,
    saturation: float,
    duration: np.ndarray,
    changes: int = 0,
) -> Course:
    """Piece with ``water`` per kg of green food, shape (n,), in a stirred bath.

    The bath is renewed with plain water ``changes`` times at equal distances.
    While more solute lies in the bath than its water can dissolve, the surface is held at saturation; when the food
    has taken up the excess, the bath goes on as one of limited size.
    """
    nothing = np.zeros(len(start))
    ratio = bath.water / water
    total = start[:, 0] + bath.solute
    enough = total - saturation * bath.water
    solid = bath.solute > saturation * bath.water
    if solid.any():
        held = held_surface(shape, start, water * saturation)
        switch = np.where(solid, _solid_gone(held, enough), 0.0)
        known = np.where(np.isfinite(switch), switch, 0.0)
        profile = np.where(solid[:, None], held.state(known)[0], start)
        segments = [
            Segment(nothing, held, total),
            Segment(switch / rate, stirred_bath(shape, profile, total - profile[:, 0], ratio), None),
        ]
        return Course(rate, tuple(segments))
    segments = [Segment(nothing, stirred_bath(shape, start, bath.solute, ratio), None)]
    for change in range(1, changes + 1):
        begin = duration * change / (changes + 1)
        profile, _ = Course(rate, tuple(segments)).state(begin)
        segments.append(Segment(begin, stirred_bath(shape, profile, nothing, ratio), None))
    return Course(rate, tuple(segments))


def search_times(rate: np.ndarray, last: float = _LAST_FOURIER, count: int = 32) -> np.ndarray:
    """Times in s, shape (n, count), rising from nearly 0 to long after rest, to look for a time in."""
    return np.geomspace(_FIRST_FOURIER, last, count) / rate[:, None]


def time_reached(above: Callable[[np.ndarray], np.ndarray], times: np.ndarray, rounds: int = 4) -> np.ndarray:
    """Times, shape (questions, n), from which ``above`` stays at or over 0.

    ``above`` maps times, shape (n, t), to values (questions, n, t). ``times``, shape (n, t), rise and cover what is
    looked for. 0: over 0 at all of them; inf: below 0 at the last. Regula falsi (Illinois) inside the last bracket.
    """
    on_grid = above(times)
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


def _share(value_low: np.ndarray, value_high: np.ndarray) -> np.ndarray:
    gap = value_high - value_low
    return np.where(gap > 0, np.clip(-value_low / np.where(gap > 0, gap, 1.0), 0.0, 1.0), 0.5)


def _solid_gone(held: Evolution, enough: np.ndarray) -> np.ndarray:
    """D t / L^2 at which the food holds ``enough``, shape (n,); inf where it never does."""
    mean = [np.eye(held.rest.shape[1])[0]]
    times = np.tile(np.geomspace(1e-8, 40.0, 48), (len(enough), 1))
    table = held.table(mean)

    def above(fourier: np.ndarray) -> np.ndarray:
        return table.at(fourier) - enough[:, None]

    return time_reached(above, times, rounds=8)[0]
