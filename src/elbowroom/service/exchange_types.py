"""What a screening hands to colleagues and studies: numbers with units and uncertainty, under a code, without names."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.core.findings.report import MotionTrack
from elbowroom.core.quantities.types import Absent, Obtained


@dataclass(frozen=True, kw_only=True)
class HandedMeasure:
    """One measure or load of one throw, or of the typical throw."""

    throw: int
    """Number of the throw; 0 for the typical throw of the visit."""
    key: str
    """Key of the measure: `trunk_opening_at_foot_contact`."""
    words: str
    """Its name on paper."""
    definition: str
    """What is measured between what, in which frame."""
    sign: str
    """What plus and minus mean."""
    source: str
    """Where the definition comes from."""
    quantity: Obtained
    """The value with its budget, or why there is none."""
    verdict: str
    """The verdict in its word; empty for single throws and for loads, which are never judged."""
    reason: str
    """Why this verdict; empty where there is none."""
    probability_beyond: float | Absent
    """Probability that the typical throw lies beyond its limits, or absent where it was not judged."""
    lower: float | Absent
    """Lowest accepted value in the unit of the measure, or absent."""
    upper: float | Absent
    """Highest accepted value in the unit of the measure, or absent."""
    limit_source: str
    """Where the limits come from; empty where there are none."""


@dataclass(frozen=True, kw_only=True)
class HandedInstant:
    """One instant of one throw."""

    throw: int
    """Number of the throw."""
    name: str
    """Name of the instant: `foot contact`."""
    time: Obtained
    """Seconds on the visit clock, or why it was not found."""


@dataclass(frozen=True, kw_only=True)
class HandedVisit:
    """A screening as it is handed out."""

    code: str
    """What stands for the athlete; never a name."""
    made_on: date
    """Day of the screening."""
    age_years: float
    """Age in years."""
    height_m: float
    """Standing height, metres."""
    hand: str
    """`right` or `left`."""
    kind: str
    """Kind of throw."""
    rate_hz: float
    """Highest capture rate among the clips; 0 where the motion came from no clip."""
    measures: tuple[HandedMeasure, ...]
    """Typical throw first, then each throw, in the order of the report."""
    instants: tuple[HandedInstant, ...]
    """Instants of every throw."""
    motions: tuple[MotionTrack, ...]
    """Joint centres of every throw over time."""
    method: tuple[str, ...]
    """The method, a paragraph each."""
    made_with: tuple[tuple[str, str], ...]
    """What the numbers depend on, each with its version or digest."""
    cautions: tuple[str, ...]
    """What must be read with the numbers."""
    digest: str
    """SHA-256 of the report that this was taken from."""
