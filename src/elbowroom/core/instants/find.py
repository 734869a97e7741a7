"""Finding the instants of a throw in the curves of its joints, for the best estimate and for every draw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.instants.model import estimate_model_spread_s
from elbowroom.core.instants.search import SEARCHES, Span, build_grid
from elbowroom.core.instants.signals import measure_hand_speed, measure_hands_parting
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Times = dict[InstantName, Array]
Found = dict[InstantName, float | Absent]

SLOWEST_THROW_M_S = 4.0
"""Peak hand speed below which nothing was thrown (project's choice; a gentle overhand toss reaches it)."""
LONGEST_BEFORE_RELEASE_S = 0.6
"""Foot contact is looked for this long before release: four times the usual 0.145 s (check-values H)."""
LONGEST_LIFT_S = 2.0
"""The lift is looked for this long before foot contact: A1's phase 1 lasts 0.9 (0.3) s."""
LONGEST_FINISH_S = 0.9
"""The finish is looked for this long after release."""
TOGETHER_SHARE = 0.9
"""Hands that never come closer than this share of the throwing forearm and hand were not together."""
NEAR_S = 0.08
"""In a perturbed draw an instant is looked for this far on either side of the best estimate's."""
LAYBACK_AFTER_S = 0.03
"""How far after the best layback a draw's is looked for: later the elbow straightens and external rotation is not
defined any more, so that draws would find their largest value there."""
STRIDE_S = 0.45
"""Foot contact needs this much of the stride before it, to know how fast the foot was."""
HAND_PICTURES = 1.0
"""Standard uncertainty, in pictures, of an instant that a person placed; chosen by this project."""
MOST_LOST_SHARE = 0.2
"""Share of draws that may miss an instant before it counts as not found."""
FILM_ALL = "Film from before the leg is lifted until the arm has swung through."
FILM_FEET = "Keep both feet in the picture from the lift to the finish."
FILM_ARM = "Film from the open side at 240 pictures a second, with the throwing arm in the picture throughout."

NOT_FOUND: dict[InstantName, Absent] = {
    InstantName.LIFT: Absent(
        reason="The lead knee is highest at the edge of the clip: the lift is cut off.", advice=FILM_ALL
    ),
    InstantName.HANDS_APART: Absent(reason="The hands are not seen to part before foot contact.", advice=FILM_ALL),
    InstantName.FOOT_CONTACT: Absent(reason="The lead foot is not seen to land before release.", advice=FILM_FEET),
    InstantName.LAYBACK: Absent(
        reason="The arm shows no greatest layback between foot contact and release.", advice=FILM_ARM
    ),
    InstantName.RELEASE: Absent(
        reason="The clip begins or ends while the hand is fastest: the throw is cut off.", advice=FILM_ALL
    ),
    InstantName.FINISH: Absent(reason="The clip ends before the trunk has bent through.", advice=FILM_ALL),
}
"""What to say where an instant's rule finds nothing."""


NOTHING_HELD: Mapping[InstantName, float] = MappingProxyType({})
"""Stands for a throw none of whose instants was placed by hand."""


def find_instants(
    curves: Curves, landmark_rate_hz: float, held: Mapping[InstantName, float] = NOTHING_HELD
) -> tuple[Instants, Times]:
    """Find the instants of one throw.

    Args:
        curves: field frame, RIGHT the throwing side; draw 0 is the best estimate.
        landmark_rate_hz: pictures a second in which the landmarks were found near the throw.
        held: instants that a person placed, seconds; they are taken as they are, the others looked for about them.

    Returns the instants with their uncertainty (scatter of the draws, and the detectors' own error from
    `TIMING_MODEL`), and for each instant that was found the times (s,) of all draws in seconds, not-a-number where a
    draw lost it.
    """
    found = _find_in_best(replace(curves, coefficients_m=curves.coefficients_m[:1]), held)
    times: Times = {}
    obtained: dict[InstantName, Obtained] = {}
    for name in InstantName:
        best = found[name]
        if name in held:
            times[name] = np.full(len(curves.coefficients_m), held[name])
            obtained[name] = build_uncertain(held[name], "s", {Source.RATER: HAND_PICTURES / landmark_rate_hz})
            continue
        if isinstance(best, Absent):
            obtained[name] = best
            continue
        drawn = _find_in_draws(curves, name, best)
        result = _combine(name, drawn, landmark_rate_hz)
        obtained[name] = result
        if not isinstance(result, Absent):
            times[name] = drawn
    return Instants(times=obtained), times


def draw_times(
    times: Mapping[InstantName, Array],
    rng: np.random.Generator,
    count: int,
    rate_hz: float,
    held: Mapping[InstantName, float] = NOTHING_HELD,
) -> Times:
    """Return `count` draws (count,) of each instant about its best estimate, with the rules' own error alone.

    The first draw is the best estimate. `times`, `rate_hz` and `held` as in `find_instants`.
    """
    drawn: Times = {}
    for name, values in times.items():
        standard = HAND_PICTURES / rate_hz if name in held else estimate_model_spread_s(name, rate_hz)
        spread = rng.normal(0.0, standard, count)
        spread[0] = 0.0
        drawn[name] = float(values[0]) + spread
    return drawn


def _find_in_best(best: Curves, held: Mapping[InstantName, float]) -> Found:
    start_s, end_s = float(best.knots_s[0]), float(best.knots_s[-1])
    release = held[InstantName.RELEASE] if InstantName.RELEASE in held else _find_release(best, (start_s, end_s))
    if isinstance(release, Absent):
        return dict.fromkeys(InstantName, release)
    found: Found = {InstantName.RELEASE: release}
    span_s = (max(start_s, release - LONGEST_BEFORE_RELEASE_S), release)
    contact = _find_one(best, InstantName.FOOT_CONTACT, span_s)
    contact = held.get(InstantName.FOOT_CONTACT, contact)
    found[InstantName.FOOT_CONTACT] = contact
    found[InstantName.FINISH] = _find_one(best, InstantName.FINISH, (release, min(end_s, release + LONGEST_FINISH_S)))
    if isinstance(contact, Absent):
        why = Absent(reason=f"It is looked for from foot contact. {contact.reason}", advice=contact.advice)
        return found | dict.fromkeys((InstantName.LIFT, InstantName.HANDS_APART, InstantName.LAYBACK), why)
    before = (max(start_s, contact - LONGEST_LIFT_S), contact)
    found[InstantName.LAYBACK] = _find_one(best, InstantName.LAYBACK, (contact, release))
    found[InstantName.LIFT] = _find_one(best, InstantName.LIFT, before)
    found[InstantName.HANDS_APART] = _find_hands_apart(best, before)
    return remove_disordered(found | dict(held))


def remove_disordered(found: Found) -> Found:
    """Return the instants with those absent that break the usual order, seen from release backwards and forwards."""
    kept = dict(found)
    later = kept[InstantName.RELEASE]
    for name in (InstantName.LAYBACK, InstantName.FOOT_CONTACT, InstantName.HANDS_APART, InstantName.LIFT):
        if not _is_before(kept[name], later):
            kept[name] = _refuse_order(name)
        # Hands may part before or after the lift, so they set no limit for it.
        if name is not InstantName.HANDS_APART and not isinstance(kept[name], Absent):
            later = kept[name]
    if not _is_before(kept[InstantName.RELEASE], kept[InstantName.FINISH]):
        kept[InstantName.FINISH] = _refuse_order(InstantName.FINISH)
    return kept


def _is_before(first: float | Absent, second: float | Absent) -> bool:
    return isinstance(first, Absent) or isinstance(second, Absent) or first < second


def _refuse_order(name: InstantName) -> Absent:
    return Absent(
        reason=f"The {name} came out on the wrong side of the instants about it, so it is not believed.",
        advice="Mark the instant by hand, or film closer and brighter.",
    )


def _find_one(best: Curves, name: InstantName, span_s: Span) -> float | Absent:
    times = SEARCHES[name](best, span_s)
    return float(times[0]) if np.isfinite(times[0]) else NOT_FOUND[name]


def _find_release(best: Curves, span_s: Span) -> float | Absent:
    fastest = float(measure_hand_speed(best, build_grid(best, span_s)).max())
    if fastest < SLOWEST_THROW_M_S:
        return Absent(
            reason=f"The throwing hand never moves faster than {fastest:.1f} m/s, so nothing was thrown.",
            advice="Check which hand throws, and that the clip holds a throw.",
        )
    return _find_one(best, InstantName.RELEASE, span_s)


def _find_hands_apart(best: Curves, span_s: Span) -> float | Absent:
    closest = float(measure_hands_parting(best, build_grid(best, span_s)).min())
    if closest > TOGETHER_SHARE:
        return Absent(
            reason="The hands are never together before foot contact, so they do not part in this clip.",
            advice="Start filming while the hands are together.",
        )
    return _find_one(best, InstantName.HANDS_APART, span_s)


def _find_in_draws(curves: Curves, name: InstantName, best_s: float) -> Array:
    before_s = STRIDE_S if name is InstantName.FOOT_CONTACT else NEAR_S
    after_s = LAYBACK_AFTER_S if name is InstantName.LAYBACK else NEAR_S
    times = SEARCHES[name](curves, (best_s - before_s, best_s + after_s))
    times[0] = best_s
    return times


def _combine(name: InstantName, times: Array, rate_hz: float) -> Obtained:
    lost = float(np.mean(~np.isfinite(times)))
    if lost > MOST_LOST_SHARE:
        return Absent(
            reason=f"The {name} is lost in {100 * lost:.0f} % of the motions that fit the pictures about as well.",
            advice="Film closer, brighter and with a second phone.",
        )
    scatter = float(np.nanstd(times[1:], ddof=1)) if np.isfinite(times[1:]).sum() > 1 else 0.0
    standard = float(np.hypot(scatter, estimate_model_spread_s(name, rate_hz)))
    return build_uncertain(float(times[0]), "s", {Source.TIMING: standard})
