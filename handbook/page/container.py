"""Brine and pieces in a container: volume to cover, level, overflow."""

from __future__ import annotations

from msgspec import Struct

from handbook.page.house import Container

PACKING_FRACTION = 0.60  # piece volume / bed volume, pieces laid in by hand (common practice, no source)
COVER = 0.01  # m of brine wanted above the topmost piece (common practice, no source)


class VesselFill(Struct, frozen=True, kw_only=True):
    """One batch in one container. Volumes in m3, heights in m above the inner floor."""

    container: Container
    brine_to_cover: float
    brine_made: float
    level_after: float
    bed_height: float

    @property
    def covers(self) -> bool:
        """Whether the brine covers the pieces."""
        return self.brine_made >= self.brine_to_cover

    @property
    def overflows(self) -> bool:
        """Whether brine or pieces reach the free rim."""
        return max(self.level_after, self.bed_height) * self.container.area > self.container.volume


def fill(container: Container, food_volume: float, brine_volume: float) -> VesselFill:
    """Fill ``container`` with ``food_volume`` and ``brine_volume`` in m3.

    bed = V_f / (phi A);  cover = A (bed + 1 cm) - V_f;  level = (V_f + V_b) / A

    Notes
    -----
    Source: geometry; phi = 0.60 and the 1 cm are common practice, no source. Pieces are held under the brine.
    """
    area = container.area
    bed = food_volume / PACKING_FRACTION / area
    cover = area * (bed + COVER) - food_volume
    return VesselFill(
        container=container,
        brine_to_cover=cover,
        brine_made=brine_volume,
        level_after=(brine_volume + food_volume) / area,
        bed_height=bed,
    )


def choose(
    containers: tuple[Container, ...], named: str | None, food_volume: float, brine_volume: float
) -> VesselFill | None:
    """The named container, else the smallest that holds the batch, else the largest, which then overflows."""
    if named is not None:
        containers = tuple(each for each in containers if each.name == named)
    fills = sorted(
        (fill(each, food_volume, brine_volume) for each in containers), key=lambda each: each.container.volume
    )
    return next((each for each in fills if not each.overflows), fills[-1] if fills else None)
