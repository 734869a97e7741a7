"""True capture times of pictures, repeated and dropped pictures, and what the timing can carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from elbowroom.core.clips.types import (
    Array,
    ClipTimes,
    Indices,
    Mask,
    RateSource,
    Sufficient,
    TimingVerdict,
    Verdict,
)
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ClipError

MIN_INSTANTS_HZ = 50.0
"""Slowest rate for times of instants: FC to BR lasts about 0.145 s (check-values H), then 7 pictures."""
MIN_TRUNK_RATES_HZ = 100.0
"""Slowest rate for turning rates of pelvis and trunk: 1,000 deg/s is then 10 deg a picture (our choice)."""
MIN_ARM_RATES_HZ = 200.0
"""Slowest rate for turning rates of the arm: 7,000 deg/s of internal rotation is 117 deg a picture at 60 Hz,
58 at 120 Hz and 29 at 240 Hz (check-values H)."""
RATE_SLACK = 0.03
"""Shortfall of a nominal rate that still counts, as a share: 239.76 Hz and an uneven 236 Hz pass for 240."""
MAX_REPEATED_SHARE = 0.03
"""Share of repeated pictures above which no time can be trusted (project's choice)."""
MIN_STATED_HZ, MAX_STATED_HZ = 1.0, 10_000.0
"""Capture rates that anyone may state."""
SAME_RATE = 0.1
"""Two rates closer than this share are the same rate, written differently."""
UNEVEN_SHARE = 0.01
"""Spread of the intervals, as a share of the median, from which a clip counts as uneven."""
DROP_RATIO = 1.5
"""An interval longer than this many median intervals means that a picture is missing."""
SLOW_QUANTILE = 0.95
"""Quantile of the intervals that gives the slow end of the capture rate."""


def check_stated_rate_hz(rate_hz: float) -> float:
    """Return the stated capture rate, or raise `ClipError` where no camera could have it."""
    if not MIN_STATED_HZ <= rate_hz <= MAX_STATED_HZ:
        raise ClipError(
            f"A capture rate of {rate_hz:g} pictures a second cannot be right; state the rate that the phone"
            f" was set to, such as 120 or 240, or leave it out."
        )
    return float(rate_hz)


def find_slow_factor(container_hz: float, capture_hz: float) -> float:
    """Find how many times slower than life a file plays.

    Args:
        container_hz: pictures a second by the file's own clock.
        capture_hz: pictures a second that the camera took.

    Returns 1 where both agree within a tenth. Raises `ClipError` where the capture rate is below the file's.
    """
    ratio = capture_hz / container_hz
    if ratio < 1.0 - SAME_RATE:
        raise ClipError(
            f"The clip holds {container_hz:.4g} pictures a second but {capture_hz:g} were stated as captured;"
            f" a camera cannot take fewer than it writes, so correct the stated rate or leave it out."
        )
    return 1.0 if ratio <= 1.0 + SAME_RATE else ratio


def time_pictures(
    container_s: Array,
    *,
    tick_s: float = 0.0,
    stated_hz: float | None = None,
    tagged_hz: float | None = None,
) -> ClipTimes:
    """Turn the file's picture times into capture times.

    Args:
        container_s: (n,) strictly increasing picture times by the file's own clock, seconds, n >= 2.
        tick_s: the file's unit of time, to which its times are rounded.
        stated_hz: capture rate that the user states; goes before the file's tag.
        tagged_hz: capture rate that the file carries in a tag.

    Raises `ClipError` for fewer than two pictures, times that do not increase, or a rate that cannot be.
    """
    intervals = _check_times(container_s)
    container_hz = 1.0 / find_usual_interval_s(intervals)
    capture_hz, source, notes = _choose_rate(container_hz, stated_hz, tagged_hz)
    factor = find_slow_factor(container_hz, capture_hz)
    times_s = (container_s - container_s[0]) / factor
    gaps, dropped = find_gaps(times_s)
    is_variable = is_uneven(times_s, tick_s / factor)
    repeated = np.zeros(len(times_s), dtype=bool)
    return ClipTimes(
        times_s=times_s,
        repeated=repeated,
        is_checked=False,
        rate_hz=factor * container_hz,
        rate_source=source,
        slow_factor=factor,
        is_variable=is_variable,
        gaps=gaps,
        dropped_count=dropped,
        timing=judge_timing(times_s, repeated, is_checked=False),
        notes=(*notes, *_describe_unevenness(is_variable, len(gaps), dropped)),
    )


def mark_repeats(times: ClipTimes, repeated: Mask) -> ClipTimes:
    """Return the times with the repeated pictures, (n,) bool, marked and the timing judged anew."""
    if repeated.shape != times.times_s.shape:
        raise ValueError("One mark is needed for each picture.")
    timing = judge_timing(times.times_s, repeated, is_checked=True)
    return replace(times, repeated=repeated.astype(bool), is_checked=True, timing=timing)


def judge_timing(times_s: Array, repeated: Mask, *, is_checked: bool) -> TimingVerdict:
    """Judge what the timing of some pictures (a clip or one throw of it) can carry.

    Args:
        times_s: (n,) capture times, seconds.
        repeated: (n,) whether a picture only repeats the one before it.
        is_checked: whether the pictures were looked at for repeats; timing is refused until they are.
    """
    reason = _find_untrusted(times_s, repeated, is_checked)
    if isinstance(reason, Absent):
        return TimingVerdict(instants=reason, trunk_rates=reason, arm_rates=reason)
    rate_hz = find_slow_rate_hz(times_s)
    return TimingVerdict(
        instants=_judge_rate(rate_hz, MIN_INSTANTS_HZ, "the times of instants"),
        trunk_rates=_judge_rate(rate_hz, MIN_TRUNK_RATES_HZ, "the turning rates of pelvis and trunk"),
        arm_rates=_judge_rate(rate_hz, MIN_ARM_RATES_HZ, "the turning rates of the arm"),
    )


def find_usual_interval_s(intervals_s: Array) -> float:
    """Find the usual interval: the mean of those without a gap, so that a file's coarse tick averages out."""
    return float(intervals_s[intervals_s <= DROP_RATIO * np.median(intervals_s)].mean())


def find_slow_rate_hz(times_s: Array) -> float:
    """Find the slow end of the capture rate in Hz: the inverse of the 95 % quantile of the intervals."""
    return 1.0 / float(np.quantile(np.diff(times_s), SLOW_QUANTILE, method="lower"))


def find_gaps(times_s: Array) -> tuple[Indices, int]:
    """Find pictures before which others were dropped, and how many are missing in all at the median rate."""
    intervals = np.diff(times_s)
    median_s = np.median(intervals)
    late = np.flatnonzero(intervals > DROP_RATIO * median_s)
    missing = np.rint(intervals[late] / median_s) - 1.0
    return (late + 1).astype(np.int64), int(missing.sum())


def is_uneven(times_s: Array, tick_s: float = 0.0) -> bool:
    """Say whether the intervals differ by more than a hundredth and more than the file's tick `tick_s`."""
    intervals = np.diff(times_s)
    low, high = np.quantile(intervals, [0.05, 0.95])
    return bool(high - low > max(UNEVEN_SHARE * float(np.median(intervals)), 1.01 * tick_s))


def _check_times(container_s: Array) -> Array:
    if len(container_s) < 2:
        raise ClipError("The clip holds fewer than two pictures; film a whole throw.")
    intervals: Array = np.diff(container_s)
    if not (np.all(np.isfinite(intervals)) and np.all(intervals > 0)):
        raise ClipError("The clip's picture times do not increase; export it again as MP4 or MOV.")
    return intervals


def _choose_rate(
    container_hz: float, stated_hz: float | None, tagged_hz: float | None
) -> tuple[float, RateSource, Sequence[str]]:
    if stated_hz is not None:
        rate_hz = check_stated_rate_hz(stated_hz)
        if tagged_hz is not None and abs(tagged_hz / rate_hz - 1.0) > SAME_RATE:
            note = f"The file says {tagged_hz:g} pictures a second; the stated {rate_hz:g} are used."
            return rate_hz, RateSource.STATED, (note,)
        return rate_hz, RateSource.STATED, ()
    if tagged_hz is not None and container_hz <= tagged_hz <= MAX_STATED_HZ:
        return tagged_hz, RateSource.FILE_TAG, ()
    return container_hz, RateSource.CONTAINER, ()


def _describe_unevenness(is_variable: bool, gap_count: int, dropped: int) -> Sequence[str]:
    notes = []
    if is_variable:
        notes.append("The pictures do not come evenly; each one's own time was used.")
    if gap_count:
        notes.append(f"About {dropped} pictures were dropped in {gap_count} places.")
    return notes


def _find_untrusted(times_s: Array, repeated: Mask, is_checked: bool) -> Sufficient | Absent:
    if len(times_s) < 2:
        return Absent(reason="Fewer than two pictures carry no timing.")
    if not is_checked:
        return Absent(
            reason="The pictures were not checked for repeats, so their times cannot be trusted yet.",
            advice="Look through the clip for repeated pictures first.",
        )
    share = float(np.mean(repeated))
    if share > MAX_REPEATED_SHARE:
        return Absent(
            reason=f"{100 * share:.0f} % of the pictures repeat the one before, so their times are not true.",
            advice="Use the phone's original file, not one that an app or a message service has converted.",
        )
    return Sufficient(rate_hz=find_slow_rate_hz(times_s))


def _judge_rate(rate_hz: float, least_hz: float, what: str) -> Verdict:
    if rate_hz >= (1.0 - RATE_SLACK) * least_hz:
        return Sufficient(rate_hz=rate_hz)
    return Absent(
        reason=f"{rate_hz:.0f} pictures a second are too few for {what}, which need {least_hz:.0f}.",
        advice="Film in slow motion at 240 pictures a second, and state the rate if the file does not.",
    )
