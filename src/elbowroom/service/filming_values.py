"""What passes between filming and the visit file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class VisitText:
    """What a visit file says, each part as keys and plain values."""

    made_on: date
    """Day of the visit."""
    athlete: Mapping[str, object]
    """The athlete."""
    ground: Mapping[str, object]
    """The ground."""
    clips: Sequence[tuple[Mapping[str, object], Mapping[str, Sequence[float]]]]
    """Each clip with its marks."""
