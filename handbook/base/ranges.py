"""A figure with its low and high end."""

from __future__ import annotations

from typing import Protocol

from msgspec import Struct

from handbook.base.errors import RangeError


class WithEnds(Protocol):
    """Anything with two ends and a middle, such as a quantity as written."""

    @property
    def low(self) -> float: ...
    @property
    def middle(self) -> float: ...
    @property
    def high(self) -> float: ...


class _Ends(Struct, frozen=True, kw_only=True):
    # By keyword alone, as the three figures are given in order.
    is_open: bool = False


class Range(_Ends, frozen=True, repr_omit_defaults=True):
    """A value with its low and high end, all in one SI unit: nine in ten lie between them (see handbook.uncertainty).

    Equal ends mean that no spread is known or stated. ``is_open``: the high end is not known; ``high`` is as far as was
    computed, and ``typical`` too where it equals ``high``.
    """

    low: float
    typical: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.typical <= self.high:
            raise ValueError(f"a range must rise: {self.low}, {self.typical}, {self.high}")

    @classmethod
    def exact(cls, value: float) -> Range:
        """A range of no width."""
        return cls(value, value, value)

    @classmethod
    def of(cls, quantity: WithEnds) -> Range:
        """The range of a quantity as written."""
        return cls(quantity.low, quantity.middle, quantity.high)

    @property
    def ends(self) -> tuple[float, float, float]:
        """Low end, typical value and high end."""
        return self.low, self.typical, self.high

    @property
    def is_wide(self) -> bool:
        """Whether the ends differ."""
        return self.high > self.low

    def times(self, factor: float) -> Range:
        """The range scaled by a factor above 0."""
        return Range(self.low * factor, self.typical * factor, self.high * factor, is_open=self.is_open)

    def plus(self, other: Range) -> Range:
        """Sum of the ends. It assumes correlated errors, so it is at least as wide as for independent ones."""
        is_open = self.is_open or other.is_open
        return Range(self.low + other.low, self.typical + other.typical, self.high + other.high, is_open=is_open)


def check_within(name: str, value: Range | float, low: float, high: float, more: str = "") -> None:
    """Raise RangeError for a value, or an end of a range, outside its limits. ``more`` follows the limits in its text."""
    for each in (value.low, value.high) if isinstance(value, Range) else (value,):
        if not low <= each <= high:
            raise RangeError(name, each, f"{low:g} to {high:g}{more}")
