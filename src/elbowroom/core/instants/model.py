"""How far the rules of the instants are from true instants, apart from the noise of the landmarks."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt

from elbowroom.core.instants.types import InstantName

PICTURE_SPREAD = 1.0 / sqrt(12.0)
"""Standard deviation, in pictures, of a moment that may lie anywhere between two pictures."""


@dataclass(frozen=True, kw_only=True)
class RuleError:
    """One rule's own error."""

    standard_s: float
    """Standard uncertainty, seconds."""
    origin: str
    """Where the figure comes from."""


def _build(mean_ms: float, sd_ms: float, least_ms: float) -> RuleError:
    standard_ms = max(hypot(mean_ms, sd_ms), least_ms)
    return RuleError(
        standard_s=0.001 * standard_ms,
        origin=f"40 rendered throws, exact curves against keyed instants: mean error {mean_ms:+.1f} ms, "
        f"standard deviation {sd_ms:.1f} ms; at least {least_ms:g} ms by this project's choice, since rendered "
        "throws are smoother than people.",
    )


TIMING_MODEL: dict[InstantName, RuleError] = {
    InstantName.LIFT: _build(0.3, 1.4, 8.0),
    InstantName.HANDS_APART: _build(-6.5, 0.5, 10.0),
    InstantName.FOOT_CONTACT: _build(3.0, 1.0, 5.0),
    InstantName.LAYBACK: _build(-1.9, 0.8, 3.0),
    InstantName.RELEASE: _build(-3.1, 4.9, 4.0),
    InstantName.FINISH: _build(1.9, 1.5, 8.0),
}
"""Each rule's error: the mean is not taken off, since it belongs to the rendered throws, but counts as uncertainty."""


def estimate_model_spread_s(name: InstantName, rate_hz: float) -> float:
    """Return the standard uncertainty of a rule against true instants at a picture rate, seconds."""
    return hypot(TIMING_MODEL[name].standard_s, PICTURE_SPREAD / rate_hz)
