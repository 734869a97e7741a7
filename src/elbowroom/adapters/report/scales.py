"""Axes: round steps, and places along a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, kw_only=True)
class Axis:
    """A linear axis from a range of numbers to a range of places."""

    low: float
    """Number at the start."""
    high: float
    """Number at the end."""
    start: float
    """Place of the start, drawing units."""
    end: float
    """Place of the end, drawing units."""

    def locate_px(self, number: float) -> float:
        """Return the place of a number, held inside the axis, to a hundredth."""
        share = (min(max(number, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 2)

    def has_number(self, number: float) -> bool:
        """Return whether a number lies on the axis."""
        return self.low <= number <= self.high


def find_step(span: float, count: int) -> float:
    """Return the smallest round step that divides a span into at most `count` parts."""
    rough = span / count
    size = 10.0 ** floor(log10(rough))
    return next(step * size for step in STEPS if step * size >= rough * (1 - 1e-9))


def build_axis(numbers: Sequence[float], start: float, end: float, margin: float = 0.08) -> Axis:
    """Return an axis that holds all finite numbers with a margin of the span at both ends."""
    finite = [number for number in numbers if isfinite(number)] or [0.0, 1.0]
    low, high = min(finite), max(finite)
    span = (high - low) or max(abs(high), 1.0)
    return Axis(low=low - margin * span, high=high + margin * span, start=start, end=end)


def find_ticks(axis: Axis, count: int) -> list[float]:
    """Return round numbers on the axis."""
    step = find_step(axis.high - axis.low, count)
    first = ceil(axis.low / step - 1e-9)
    last = floor(axis.high / step + 1e-9)
    return [index * step for index in range(first, last + 1)]
