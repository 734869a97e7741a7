"""The quick check of a clip: what is asked and what is answered."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.quantities.types import Absent


@dataclass(frozen=True, kw_only=True)
class CheckWish:
    """A clip to be looked at quickly."""

    path: Path
    """Where the clip lies."""
    view: View
    """Where the camera is said to stand."""
    hand: ThrowingHand
    """The hand that throws."""
    rate_hz: float | Absent
    """Capture rate as stated, or absent where the file is believed."""


@dataclass(frozen=True, kw_only=True)
class CheckLine:
    """One thing that was looked at."""

    what: str
    """What was looked at, such as `light`."""
    is_good: bool
    """Whether it will do as it is."""
    words: str
    """What was found and, where it will not do, what to do, in one sentence."""
