"""Measures: what they are called, how they are defined, and what a throw gave."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.clips.types import TimingVerdict
from elbowroom.core.quantities.types import Obtained


class ThrowKind(StrEnum):
    """Kinds of throw (glossary)."""

    MOUND_PITCH = "pitch from a mound"
    FLAT_PITCH = "flat-ground pitch"
    POSITION_THROW = "position throw"
    LONG_TOSS = "long toss"
    OTHER = "other overhand throw"


@dataclass(frozen=True, kw_only=True)
class MeasureDefinition:
    """What a measure means; the registry holds one a key."""

    key: str
    """Key in files, lower case with underscores, the instant at the end: `trunk_opening_at_foot_contact`."""
    words: str
    """Name on screens and paper: `trunk opening at foot contact`."""
    unit: str
    """deg, m, s, deg/s, m/s, % or 1."""
    definition: str
    """One or two sentences: what is measured between what, in which frame."""
    sign: str
    """What plus and minus mean, for a right-hander after mirroring."""
    source: str
    """Where the definition comes from."""
    headline: bool = False
    """Whether this is one of the four headline measures."""


@dataclass(frozen=True, kw_only=True)
class MeasureSetting:
    """What has to be known beside the motion to measure a throw."""

    height_m: float
    """Standing height of the athlete, metres."""
    kind: ThrowKind
    """Kind of the throw."""
    timing: TimingVerdict
    """What the timing of the pictures of this throw can carry."""
    target: Obtained
    """Direction to the target in the field frame (0 deg) with its uncertainty, or why it is not known."""


@dataclass(frozen=True, kw_only=True)
class ThrowMeasures:
    """All measures of one throw."""

    values: dict[str, Obtained]
    """Each measure by its key: measured, or the reason why not."""
