"""Find each throw in a clip from sparse pictures seen by the light landmark model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

from elbowroom.core.landmarks.names import OPPOSITE, Side
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.signals import GRID_HZ, BodySignals, measure_signals
from elbowroom.core.throws.types import ThrowWindow

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

# The limits below were chosen by this project on the captured pitch of the reference test, seen from five sides, and
# on simple movements that are not throws; lengths are in torso lengths (mid-shoulders to mid-hips).
HAND_SPEED_HZ = 9.0
"""Least hand speed of a throw; the captured pitch gives 14 to 20, a walk or a catch 3 to 8."""
OTHER_HAND_SHARE = 0.8
"""A glove hand slower than this share of the throwing hand tells a throw from a swing with both hands on a bat."""
WIDE_APART = 1.0
"""So does a distance between the wrists that no two hands on a bat have; a glove pulled in is as fast as the hand."""
HANDS_APART = 0.6
"""Least distance between the wrists at some time in the last quarter second before release."""
ELBOW_HEIGHT = -0.35
"""Least height of the elbow above its shoulder while the arm is cocked."""
STRIDE = 0.9
"""Least travel of the lead foot against the pivot foot in the picture during the stride."""
KNEE_HEIGHT = -0.35
"""A lead knee higher than this above the hips is a leg lift; standing gives about -0.85."""
LANDED = 0.15
"""A lead foot nearer than this to where it stands at release has landed."""
GAP_S = 1.0
"""Throws follow one another at least this far apart."""
TAIL_S = 0.25
"""What a clip must still show after release."""
FINISH_S = 0.7
"""Time from release to the end of what is analysed."""
BEFORE_LIFT_S = 0.3
"""Time from the start of what is analysed to the highest lead knee."""


@dataclass(frozen=True, kw_only=True)
class _Candidate:
    """A fast hand that may be a throw."""

    side: Side
    """The fast hand."""
    peak: int
    """Grid number of the highest speed."""


def find_throws(times_s: Array, raw: RawLandmarks) -> tuple[ThrowWindow, ...] | Absent:
    """Find the throws of one person in a clip, in order of time; throws cut off by the clip's ends are left out.

    `raw` holds the light model's landmarks in sparse pictures (about 30 a second) at capture times `times_s` (n,),
    sides repaired where they were mixed up. A throw is a fast hand with the other hand slower and away from it, the
    elbow near shoulder height just before, and a leg lift or a stride before that. `Absent` where there is none, or
    where all of them are cut off.
    """
    if len(times_s) < 8 or times_s[-1] - times_s[0] < 0.5:
        return Absent(
            reason="The person is seen for less than half a second, too short for a throw.",
            advice="Film from two seconds before the throw to one second after it.",
        )
    signals = measure_signals(raw, times_s)
    found = [_measure_window(signals, candidate) for candidate in _find_candidates(signals)]
    whole = tuple(window for window in found if not _name_cut(signals, window))
    if whole:
        return whole
    if found:
        return Absent(
            reason=f"The throw is cut off: {_name_cut(signals, found[0])}.",
            advice="Film from two seconds before the throw to one second after it.",
        )
    return Absent(
        reason="No throw was found in the clip: no fast overhand arm that follows a stride or a leg lift.",
        advice="Check that the clip shows the whole athlete during the throw.",
    )


def find_cut_throws(times_s: Array, raw: RawLandmarks) -> tuple[str, ...]:
    """Say in words which throws were left out because the clip's ends cut them off; arguments as `find_throws`."""
    if len(times_s) < 8 or times_s[-1] - times_s[0] < 0.5:
        return ()
    signals = measure_signals(raw, times_s)
    windows = [_measure_window(signals, candidate) for candidate in _find_candidates(signals)]
    cuts = [(window.release_guess_s, _name_cut(signals, window)) for window in windows]
    return tuple(f"The throw at {at:.1f} s was left out: {cut}." for at, cut in cuts if cut)


def _find_candidates(signals: BodySignals) -> list[_Candidate]:
    """Fast hands with everything that makes a throw, the fastest within `GAP_S`, in order of time."""
    fast: list[tuple[float, _Candidate]] = []
    for side in Side:
        speed = np.concatenate([[0.0], signals.hand_speed[side], [0.0]])
        peaks, _ = find_peaks(speed, height=HAND_SPEED_HZ, distance=max(int(0.3 * GRID_HZ), 1))
        for peak in peaks - 1:
            candidate = _Candidate(side=side, peak=int(peak))
            if _is_throw(signals, candidate):
                fast.append((_weigh_candidate(signals, candidate), candidate))
    kept: list[_Candidate] = []
    for _, candidate in sorted(fast, key=lambda item: -item[0]):
        if all(abs(candidate.peak - other.peak) >= GAP_S * GRID_HZ for other in kept):
            kept.append(candidate)
    return sorted(kept, key=lambda candidate: candidate.peak)


def _weigh_candidate(signals: BodySignals, candidate: _Candidate) -> float:
    """Speed of the hand, more for an elbow that was raised: the throwing arm, not the glove that is pulled in."""
    elbow = signals.elbow_height[candidate.side][_span(signals, candidate.peak, 0.25, 0.0)].max()
    return float(signals.hand_speed[candidate.side][candidate.peak] * (1.0 + np.clip(elbow, -0.35, 0.5)))


def _span(signals: BodySignals, peak: int, before_s: float, after_s: float) -> slice:
    """Grid numbers from `before_s` before the peak to `after_s` after it (negative: before it)."""
    start = max(peak - round(before_s * GRID_HZ), 0)
    end = min(peak + round(after_s * GRID_HZ) + 1, len(signals.times_s))
    return slice(start, max(end, start + 1))


def _is_throw(signals: BodySignals, candidate: _Candidate) -> bool:
    """Whether the arm, the other hand and the legs do what they do in a throw."""
    side, peak = candidate.side, candidate.peak
    near = _span(signals, peak, 0.1, 0.1)
    cocked = _span(signals, peak, 0.25, 0.0)
    fastest = float(signals.hand_speed[side][peak])
    other = float(signals.hand_speed[OPPOSITE[side]][near].max())
    return bool(
        signals.hand_gap[cocked].max() >= (HANDS_APART if other <= OTHER_HAND_SHARE * fastest else WIDE_APART)
        and signals.elbow_height[side][cocked].max() >= ELBOW_HEIGHT
        and _has_stride(signals, candidate)
    )


def _has_stride(signals: BodySignals, candidate: _Candidate) -> bool:
    """Whether the lead leg lifts or strides in the 1.5 s before the hand is fastest."""
    lead = OPPOSITE[candidate.side]
    before = _span(signals, candidate.peak, 1.5, -0.05)
    if signals.knee_height[lead][before].max() >= KNEE_HEIGHT:
        return True
    gap = signals.foot[lead][before] - signals.foot[candidate.side][before]
    return bool(np.linalg.norm(gap - gap[-1], axis=-1).max() >= STRIDE)


def _guess_contact(signals: BodySignals, candidate: _Candidate) -> int:
    """Grid number at which the lead foot has come to where it stands at release, in the picture."""
    path = signals.foot[OPPOSITE[candidate.side]]
    before = _span(signals, candidate.peak, 1.0, 0.0)
    stand = np.median(path[_span(signals, candidate.peak, 0.05, 0.02)], axis=0)
    away = np.flatnonzero(np.linalg.norm(path[before] - stand, axis=-1) > LANDED)
    contact = before.start + int(away[-1]) + 1 if len(away) else candidate.peak
    return int(np.clip(contact, candidate.peak - round(0.35 * GRID_HZ), candidate.peak - round(0.06 * GRID_HZ)))


def _measure_window(signals: BodySignals, candidate: _Candidate) -> ThrowWindow:
    """Lay out the window of a throw about its fastest hand."""
    contact = max(_guess_contact(signals, candidate), 0)
    before = _span(signals, contact, 1.6, -0.1)
    knee = signals.knee_height[OPPOSITE[candidate.side]][before]
    lift = before.start + int(np.argmax(knee))
    times = signals.times_s
    release = float(times[candidate.peak])
    return ThrowWindow(
        start_s=float(max(times[lift] - BEFORE_LIFT_S, times[0])),
        contact_guess_s=float(times[contact]),
        release_guess_s=release,
        end_s=float(min(release + FINISH_S, times[-1])),
        side=candidate.side,
    )


def _name_cut(signals: BodySignals, window: ThrowWindow) -> str:
    """Say how the clip cuts the throw off, or an empty string."""
    times = signals.times_s
    if window.release_guess_s + TAIL_S > times[-1]:
        return "the clip ends before the throw does"
    knee = signals.knee_height[OPPOSITE[window.side]]
    is_raised = bool(knee[0] >= KNEE_HEIGHT)
    if window.contact_guess_s - 0.3 < times[0] or (window.start_s <= times[0] and is_raised):
        return "the clip starts after the throw has begun"
    return ""


def check_hand(windows: tuple[ThrowWindow, ...], stated: Side) -> tuple[ThrowWindow, ...] | Absent:
    """Return the throws made with the stated hand, or `Absent` where all of them are made with the other hand."""
    right = tuple(window for window in windows if window.side is stated)
    if right or not windows:
        return right
    seen = windows[0].side.value
    return Absent(
        reason=f"The athlete is said to throw with the {stated.value} hand, but the clip shows the {seen} arm throw.",
        advice="Correct the hand in the visit file, or film again without mirroring the picture.",
    )


def is_wrong_hand(windows: tuple[ThrowWindow, ...], stated: Side) -> bool:
    """Whether there are throws and none of them is made with the stated hand."""
    return bool(windows) and all(window.side is not stated for window in windows)
