"""The instants of a throw."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.quantities.types import Obtained


class InstantName(StrEnum):
    """The instants, in the order in which they follow one another in a usual throw."""

    LIFT = "lift"
    HANDS_APART = "hands apart"
    FOOT_CONTACT = "foot contact"
    LAYBACK = "layback"
    RELEASE = "release"
    FINISH = "finish"


@dataclass(frozen=True, kw_only=True)
class Instants:
    """The instants of one throw, each a time in seconds on the visit clock or the reason why it was not found."""

    times: dict[InstantName, Obtained]
    """Time of every instant, unit s."""

    def find(self, name: InstantName) -> Obtained:
        """Return the time of an instant, or why it was not found."""
        return self.times[name]
