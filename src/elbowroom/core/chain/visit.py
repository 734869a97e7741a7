"""A whole visit: tracks, clocks, reconstruction and measures of every throw in all clips."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.types import ClipClock, FieldSetUp
from elbowroom.core.chain.measuring import (
    ONE_VIEW,
    combine_draws,
    draw_sources,
    measure_motion,
    refuse_out_of_plane,
)
from elbowroom.core.chain.siding import repair_throw_sides
from elbowroom.core.chain.timing import combine_timing, estimate_clock, estimate_sound_clock
from elbowroom.core.chain.tracking import track_clip, view_throw
from elbowroom.core.chain.types import (
    ChainSetting,
    ClipThrows,
    FailedThrow,
    MeasuredThrow,
    MeasuredVisit,
    TrackedThrow,
)
from elbowroom.core.clocks.combine import combine_offsets
from elbowroom.core.clocks.types import CheckedOffset, ClockOffset, ClockSource, Drift
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import ViewedThrow
from elbowroom.core.throws.choose import AFTER_RELEASE_S, BEFORE_CONTACT_S
from elbowroom.core.throws.pair import pair_throws
from elbowroom.core.throws.types import PairedThrow

Clock = CheckedOffset | Absent
Report = Callable[[int, int], None]
Paired = tuple[TrackedThrow, ...]
What = tuple[FieldSetUp, ChainSetting, np.random.Generator]


def measure_visit(
    clips: Sequence[ClipThrows],
    set_up: FieldSetUp,
    setting: ChainSetting,
    generator: np.random.Generator,
    report: Report,
) -> MeasuredVisit:
    """Return every throw of the clips, measured, with what failed and why; `report` hears of each throw done.

    The same clips and a generator of the same seed give the same numbers.
    """
    tracked = [track_clip(clip, number, setting) for number, clip in enumerate(clips)]
    sounds = [estimate_sound_clock(clips[0], clip, setting) for clip in clips[1:]]
    pairs = pair_clips(clips, sounds)
    if isinstance(pairs, Absent):
        return MeasuredVisit(throws=(), failed=(FailedThrow(number=1, absent=pairs),), clocks=())
    paired = [tuple(tracked[clip][place] for clip, place in pair.members) for pair in pairs]
    clocks = [
        tie_clock(set_up.clocks[number - 1], sound) if set_up.clocks else set_clock(clips, paired, number, sound)
        for number, sound in enumerate(sounds, start=1)
    ]
    paired = [repair_throw_sides(members, clips, clocks, setting) for members in paired]
    results = []
    for number, (members, own) in enumerate(zip(paired, generator.spawn(len(paired)), strict=True), start=1):
        results.append(measure_paired(number, members, clips, clocks, (set_up, setting, own)))
        report(number, len(paired))
    return MeasuredVisit(
        throws=tuple(result for result in results if isinstance(result, MeasuredThrow)),
        failed=tuple(result for result in results if isinstance(result, FailedThrow)),
        clocks=tuple(clocks),
    )


def pair_clips(clips: Sequence[ClipThrows], sounds: Sequence[ClockOffset | Absent]) -> tuple[PairedThrow, ...] | Absent:
    """Return which throws of the clips are the same, by the sound where it is known and else by the gaps."""
    windows = [tuple(seen.window for seen in clip.throws) for clip in clips]
    offsets = {
        number: float(sound.convert_times(np.array([windows[number][0].release_guess_s]))[0])
        - windows[number][0].release_guess_s
        for number, sound in enumerate(sounds, start=1)
        if isinstance(sound, ClockOffset) and windows[number]
    }
    return pair_throws(windows, offsets)


def set_clock(clips: Sequence[ClipThrows], paired: Sequence[Paired], number: int, sound: ClockOffset | Absent) -> Clock:
    """Return the offset of clip `number` against the first clip."""
    both = [
        (first, second)
        for members in paired
        for first in members
        for second in members
        if first.clip == 0 and second.clip == number
    ]
    return estimate_clock((clips[0], clips[number]), both, sound)


def tie_clock(known: ClipClock, sound: ClockOffset | Absent) -> Clock:
    """Return the offset of a clip whose clock was found together with the cameras, sound beside it.

    The movement is not asked again: it has told the clock already, and cameras that are only estimates would lead it.
    """
    found = ClockOffset(
        offset_s=known.offset_s,
        standard_s=known.standard_s,
        source=ClockSource.CAMERAS,
        epoch_s=known.epoch_s,
        drift=Drift(ratio=known.drift_ratio, ratio_standard=known.drift_standard_ratio),
        event_count=1,
    )
    return combine_offsets([found, sound])


def measure_paired(
    number: int,
    members: Paired,
    clips: Sequence[ClipThrows],
    clocks: Sequence[Clock],
    what: What,
) -> MeasuredThrow | FailedThrow:
    """Return one throw measured from the clips that show it, or why it could not be."""
    placed = [(place_view(member, clips, clocks), member) for member in members]
    views = [(view, member) for view, member in placed if isinstance(view, ViewedThrow)]
    if not views:
        advice = "Clap once in view of both phones, or film with the sound on."
        absent = Absent(
            reason="The clocks of the clips that show this throw could not be tied together.", advice=advice
        )
        return FailedThrow(number=number, absent=absent)
    try:
        return measure_viewed(number, views, [clips[member.clip] for _, member in views], what)
    except np.linalg.LinAlgError:
        absent = Absent(
            reason="The landmarks of this throw do not hold together.",
            advice="Film the whole body without anything in front of it.",
        )
        return FailedThrow(number=number, absent=absent)


def place_view(member: TrackedThrow, clips: Sequence[ClipThrows], clocks: Sequence[Clock]) -> ViewedThrow | Absent:
    """Return a throw's view on the first clip's clock, or why its clock is not known."""
    camera = clips[member.clip].camera
    if member.clip == 0:
        return view_throw(camera, member.track, 0.0, 0.0)
    clock = clocks[member.clip - 1]
    if isinstance(clock, Absent):
        return clock
    middle = member.seen.window.release_guess_s
    offset = float(clock.offset.convert_times(np.array([middle]))[0]) - middle
    return view_throw(camera, member.track, offset, clock.offset.find_standard_s(middle))


def measure_viewed(
    number: int,
    views: Sequence[tuple[ViewedThrow, TrackedThrow]],
    clips: Sequence[ClipThrows],
    what: What,
) -> MeasuredThrow:
    """Return one throw measured from its views; raises LinAlgError where the views do not hold together."""
    set_up, setting, generator = what
    is_right = setting.athlete.hand is ThrowingHand.RIGHT
    seen = tuple(view for view, _ in views)
    motion = reconstruct_throw(seen, find_window(views), setting.priors, project_with_jacobian, is_right)
    drawn = draw_sources(motion, set_up, setting, generator)
    rate = max(clip.times.rate_hz for clip in clips)
    pictures = combine_timing(clips), rate
    instants, times, measures, loads = measure_motion(drawn, set_up, setting, pictures, generator)
    if motion.views == 1:
        measures, loads = refuse_out_of_plane(measures), ONE_VIEW
    return MeasuredThrow(
        number=number,
        tracked=tuple(member for _, member in views),
        motion=motion,
        spread=combine_draws(drawn),
        instants=instants,
        times_s=dict(times),
        measures=measures,
        loads=loads,
    )


def find_window(views: Sequence[tuple[ViewedThrow, TrackedThrow]]) -> tuple[float, float, float, float]:
    """Return start, begin and end of the fast part, and end of what all views cover, seconds on the visit clock."""
    spans = [
        (
            window.start_s + view.offset_s,
            window.contact_guess_s + view.offset_s - BEFORE_CONTACT_S,
            window.release_guess_s + view.offset_s + AFTER_RELEASE_S,
            window.end_s + view.offset_s,
        )
        for view, member in views
        for window in (member.seen.window,)
    ]
    starts, fasts, slows, ends = zip(*spans, strict=True)
    return max(starts), min(fasts), max(slows), min(ends)
