"""Quantities that carry their uncertainty, and the object that stands for what could not be obtained."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf, isinf, sqrt
from typing import Never, NoReturn

from scipy.special import stdtrit

from elbowroom.errors import AbsentValueError, UncertainComparisonError

NORMAL_95 = 1.959963984540054
"""Coverage factor of a 95 % interval of the normal distribution (JCGM 100:2008, table G.1, rounded there to
1.960)."""


@dataclass(frozen=True, kw_only=True)
class Absent:
    """What could not be obtained: false in a test, and raises its reason when its value is asked for."""

    reason: str
    """One sentence that says why the value could not be obtained."""
    advice: str = ""
    """One sentence that says what to do to obtain it next time, or an empty string."""

    def __bool__(self) -> bool:
        return False

    @property
    def value(self) -> NoReturn:
        """Raise `AbsentValueError` with the reason."""
        raise AbsentValueError(self.reason)


class Source(StrEnum):
    """Where uncertainty comes from; the names that budgets, reports and files use."""

    LANDMARKS = "landmark noise"
    JOINT_OFFSET = "landmark to joint centre"
    CAMERAS = "cameras"
    CLOCKS = "clocks"
    TIMING = "instant"
    TARGET = "direction to the target"
    UPRIGHT = "upright"
    SCALE = "scale"
    OUT_OF_PLANE = "out of plane"
    BODY = "body tables"
    BALL = "ball"
    SMOOTHING = "smoothing"
    THROW_TO_THROW = "throw to throw"
    RATER = "rater"
    REPEATS = "repeats"
    INSTRUMENT = "instrument"
    EQUATION = "prediction equation"


SHARED_SOURCES = frozenset(
    {
        *(Source.JOINT_OFFSET, Source.CAMERAS, Source.TARGET, Source.UPRIGHT, Source.SCALE, Source.OUT_OF_PLANE),
        *(Source.BODY, Source.BALL, Source.SMOOTHING, Source.RATER, Source.INSTRUMENT, Source.EQUATION),
    }
)
"""Sources whose error is the same in every throw of a visit, so that it does not average over throws."""


@dataclass(frozen=True, kw_only=True)
class BudgetPart:
    """One source's standard uncertainty, in the unit of the quantity it belongs to."""

    source: Source
    """The source of this part."""
    standard: float
    """Standard uncertainty from this source, in the unit of the quantity, never negative."""


@dataclass(frozen=True, kw_only=True)
class Uncertain:
    """A value with its unit and its budget; refuses comparison and float(), since only the judge compares."""

    value: float
    """Best estimate, in `unit`."""
    unit: str
    """Unit of the value: deg, m, s, deg/s, m/s, %, 1, N m, N, % BW H or % BW."""
    parts: tuple[BudgetPart, ...]
    """Standard uncertainties by source, taken as independent of one another."""
    degrees_of_freedom: float = inf
    """Effective degrees of freedom of the combined standard uncertainty; infinite where it is taken as
    known."""

    @property
    def standard(self) -> float:
        """Combined standard uncertainty, root sum of squares of the parts (JCGM 100:2008, 5.1.2)."""
        return sqrt(sum(part.standard**2 for part in self.parts))

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval: Student's t with `degrees_of_freedom`, normal when infinite (JCGM 100:2008,
        G.3.2)."""
        factor = NORMAL_95 if isinf(self.degrees_of_freedom) else float(stdtrit(self.degrees_of_freedom, 0.975))
        return factor * self.standard

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval (lower, upper)."""
        return self.value - self.half_width, self.value + self.half_width

    @property
    def dominant(self) -> BudgetPart | Absent:
        """The part that holds the largest share of the variance."""
        if not self.parts:
            return Absent(reason="The value has no budget.")
        return max(self.parts, key=lambda part: part.standard)

    def __float__(self) -> Never:
        raise UncertainComparisonError("An uncertain value is not a bare number; ask for its value and interval.")

    def __lt__(self, other: object) -> Never:
        raise UncertainComparisonError("Only the judge compares uncertain values.")

    __le__ = __gt__ = __ge__ = __lt__


Obtained = Uncertain | Absent
"""A quantity that was measured, or the reason why it was not."""
