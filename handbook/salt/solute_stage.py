"""One solute through one stage: a chain of exact evolutions, including undissolved salt."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from handbook.base.arrays import Floats
from handbook.salt.diffusion import Geometry
from handbook.salt.evolution import BathCoupling, held_surface, sealed
from handbook.salt.modal_solution import ModalSolution, SolutionTable
from handbook.salt.time_search import time_reached

#: Water-phase saturation, kg solute per kg water, at fridge to room temperature [nacl-solubility, sucrose-density].
SATURATION = {"salt": 0.3587, "sugar": 2.0}


class StirredBath(Struct, frozen=True, eq=False, kw_only=True):
    """Water and solute of a bath per kg of green food, shape (n,) each."""

    water: Floats
    solute: Floats


class Segment(Struct, frozen=True, eq=False, kw_only=True):
    """One evolution from ``begin`` (D t / L^2, shape (n,)); inf where a sample never reaches it.

    outside : total solute of food and bath, where the bath's amount follows by balance; else None
    """

    begin: Floats
    evolution: ModalSolution
    outside: Floats | None = None


class SoluteCourse(Struct, frozen=True, eq=False, kw_only=True):
    """Segments of one solute in one stage, in order. Time is D t / L^2 ("fourier")."""

    segments: tuple[Segment, ...]

    def reading(self, readers: list[Floats]) -> SoluteReading:
        """Tables of the values at the readers, and of the bath.

        c(t) = reader . q(t)

        Parameters
        ----------
        readers : list of arrays (r,) or (n, r)
            The first one reads the mean.

        Returns
        -------
        SoluteReading

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid as handbook.salt.evolution.SolutionTable.

        Examples
        --------
        >>> from handbook.salt.salt_example import SLAB
        >>> reading = sealed_course(SLAB, SLAB.uniform(np.array([0.02]))).reading([np.eye(SLAB.size)[0]])
        >>> round(float(reading.at(np.array([[0.5]]))[0, 0, 0]), 6)
        0.02
        """
        evolutions = [segment.evolution for segment in self.segments]
        return SoluteReading(
            course=self, tables=tuple(each.table(readers, each.bath_equilibrium is not None) for each in evolutions)
        )

    def state(self, fourier: Floats) -> tuple[Floats, Floats | None]:
        """Profiles and amounts in the bath at one time per sample.

        bath = total - q_0, while salt is undissolved

        Parameters
        ----------
        fourier : array (n,) [-]
            D t / L^2, finite.

        Returns
        -------
        array (n, r) [kg / kg green food]
        array (n,) [kg / kg green food], None without a bath

        Raises
        ------
        ValueError  no time lies inside the stage

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid for times >= 0.

        Examples
        --------
        >>> from handbook.salt.salt_example import SLAB
        >>> states, bath = rinse_course(SLAB, SLAB.uniform(np.ones(1))).state(np.array([0.1]))
        >>> round(float(states[0, 0]), 4), bath
        (0.6432, None)
        """
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
        """Each segment with a mask of the times from its start to that of the next.

        begin_i <= t < begin_(i+1)

        Parameters
        ----------
        fourier : array (n,), or (n or 1, times) [-]

        Returns
        -------
        iterator of (Segment, boolean array)

        Notes
        -----
        A segment takes precedence over those before it.
        Source: definition of the segments; no empirical constant. Valid for times >= 0.

        Examples
        --------
        >>> from handbook.salt.salt_example import SLAB
        >>> course = sealed_course(SLAB, SLAB.uniform(np.zeros(1)))
        >>> [mask.tolist() for _, mask in course.inside(np.array([0.1]))]
        [[True]]
        """
        begins = [each.begin if fourier.ndim == 1 else each.begin[:, None] for each in self.segments]
        ends: list[Floats | float] = [*begins[1:], np.inf]
        for segment, begin, end in zip(self.segments, begins, ends, strict=True):
            yield segment, (fourier >= begin) & (fourier < end)


class SoluteReading(Struct, frozen=True, eq=False, kw_only=True):
    """Values over time of one course: one table per segment."""

    course: SoluteCourse
    tables: tuple[SolutionTable, ...]

    def at(self, fourier: Floats, first: int | None = None) -> Floats:
        """Values of the readers, and of the bath, at given times.

        bath = total - mean, while salt is undissolved

        Parameters
        ----------
        fourier : array (n, times), or (1, times) for all samples [-]
            D t / L^2, rising.
        first : int
            Number of readers to read, without the bath; None for all.

        Returns
        -------
        array (readers + 1 with a bath, n, times) [kg / kg green food]

        Raises
        ------
        ValueError  no times

        Notes
        -----
        Source: [crank-1975]; the scheme is our own. Valid as handbook.salt.evolution.SolutionTable.

        Examples
        --------
        Food and bath of equal water share the salt in the end:

        >>> from handbook.salt.salt_example import SLAB
        >>> bath = StirredBath(water=np.array([0.75]), solute=np.array([0.06]))
        >>> coupling = BathCoupling.between(SLAB, np.array([1.0]))
        >>> course = bath_course(coupling, SLAB.uniform(np.zeros(1)), np.array([0.75]), bath, SATURATION["salt"])
        >>> course.reading([np.eye(SLAB.size)[0]]).at(np.array([[20.0]]))[:, 0, 0].round(4).tolist()
        [0.03, 0.03]
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
    """Course without flux: the profile equalises.

    dc/dn = 0 at the surface

    Parameters
    ----------
    shape : Geometry
    start : array (n, r) [kg / kg green food]

    Returns
    -------
    SoluteCourse

    Notes
    -----
    Source: [crank-1975]; the scheme is our own. Valid as handbook.salt.evolution.sealed.

    Examples
    --------
    >>> from handbook.salt.salt_example import SLAB
    >>> float(sealed_course(SLAB, SLAB.uniform(np.array([0.02]))).state(np.ones(1))[0][0, 0])
    0.02
    """
    return SoluteCourse(segments=(Segment(begin=np.zeros(len(start)), evolution=sealed(shape, start)),))


def rinse_course(shape: Geometry, start: Floats) -> SoluteCourse:
    """Course in running water: the surface is free of solute.

    c = 0 at the surface

    Parameters
    ----------
    shape : Geometry
    start : array (n, r) [kg / kg green food]

    Returns
    -------
    SoluteCourse

    Notes
    -----
    Source: [crank-1975]; the scheme is our own. Valid as handbook.salt.evolution.held_surface.

    Examples
    --------
    The loss after D t / l^2 = 0.1 is that of Crank's sheet, 0.3568:

    >>> from handbook.salt.salt_example import SLAB
    >>> round(1 - float(rinse_course(SLAB, SLAB.uniform(np.ones(1))).state(np.array([0.1]))[0][0, 0]), 4)
    0.3568
    """
    nothing = np.zeros(len(start))
    return SoluteCourse(segments=(Segment(begin=nothing, evolution=held_surface(shape, start, nothing)),))


def bath_course(
    coupling: BathCoupling,
    start: Floats,
    water: Floats,
    bath: StirredBath,
    saturation: float,
    change_after: Floats | None = None,
    changes: int = 0,
) -> SoluteCourse:
    """Course of a piece in a stirred bath.

    c_surface = min(y, saturation) water, until the excess salt has dissolved

    Parameters
    ----------
    coupling : BathCoupling
    start : array (n, r) [kg / kg green food]
    water : array (n,) [kg / kg green food]
        Of the food.
    bath : StirredBath
    saturation : float [kg / kg water]
    change_after : array (n,) [-]
        D t / L^2 between renewals of the bath with plain water.
    changes : int
        Number of renewals.

    Returns
    -------
    SoluteCourse

    Notes
    -----
    While the bath holds more solute than its water dissolves, the surface is held at saturation. Once the food has taken
    up the excess, the bath is one of limited size.
    Source: [crank-1975]; saturation [nacl-solubility, sucrose-density]; the scheme is our own.
    Valid for a well stirred bath and constant D.

    Examples
    --------
    >>> from handbook.salt.salt_example import SLAB
    >>> bath = StirredBath(water=np.array([0.75]), solute=np.array([0.06]))
    >>> coupling = BathCoupling.between(SLAB, np.array([1.0]))
    >>> course = bath_course(coupling, SLAB.uniform(np.zeros(1)), np.array([0.75]), bath, SATURATION["salt"])
    >>> round(float(course.state(np.array([20.0]))[0][0, 0]), 4)
    0.03
    """
    nothing = np.zeros(len(start))
    solid = bath.solute > saturation * bath.water
    if solid.any():
        total = start[:, 0] + bath.solute
        held = held_surface(coupling.shape, start, water * saturation)
        switch = np.where(solid, _solid_gone(held, total - saturation * bath.water), 0.0)
        known = np.where(np.isfinite(switch), switch, 0.0)
        profile = np.where(solid[:, None], held.state(known)[0], start)
        limited = coupling.evolution(profile, total - profile[:, 0])
        segments = [Segment(begin=nothing, evolution=held, outside=total), Segment(begin=switch, evolution=limited)]
    else:
        segments = [Segment(begin=nothing, evolution=coupling.evolution(start, bath.solute))]
    for change in range(1, changes + 1):
        begin = nothing if change_after is None else change_after * change
        profile, _ = SoluteCourse(segments=tuple(segments)).state(begin)
        segments.append(Segment(begin=begin, evolution=coupling.evolution(profile, nothing)))
    return SoluteCourse(segments=tuple(segments))


def _solid_gone(held: ModalSolution, enough: Floats) -> Floats:
    """D t / L^2 at which the food holds the amount ``enough``, shape (n,); inf where it never does."""
    table = held.table([np.eye(1, len(held.modes))[0]])

    def above(fourier: Floats) -> Floats:
        return table.at(fourier) - enough[:, None]

    first: Floats = time_reached(above, np.geomspace(1e-8, 40.0, 48)[None], rounds=8)[0]
    return first


def _since(fourier: Floats, begin: Floats) -> Floats:
    """Time since ``begin``; 0 before it."""
    elapsed: Floats = np.maximum(fourier - np.where(np.isfinite(begin), begin, 0.0), 0.0)
    return elapsed
