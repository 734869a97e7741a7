"""A whole visit: tracks, clocks, reconstruction and measures of every throw in all clips."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

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
    DrawSeed,
    FailedThrow,
    MeasuredThrow,
    MeasuredVisit,
    TrackedThrow,
)
from elbowroom.core.clocks.combine import combine_offsets
from elbowroom.core.clocks.types import CheckedOffset, ClockOffset, ClockSource, Drift
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.instants.find import NOTHING_HELD
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.types import Absent, Source
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import Curves, Motion, ViewedThrow
from elbowroom.core.throws.choose import AFTER_RELEASE_S, BEFORE_CONTACT_S
from elbowroom.core.throws.pair import pair_throws
from elbowroom.core.throws.types import PairedThrow

Clock = CheckedOffset | Absent
Report = Callable[[int, int], None]
Paired = tuple[TrackedThrow, ...]
Placed = tuple[ViewedThrow, TrackedThrow]
What = tuple[FieldSetUp, ChainSetting, np.random.Generator]
MOVED = Absent(
    reason="A phone stood elsewhere in this throw than in the others.",
    advice="Screen this throw as a visit of its own, or film again without touching the tripods.",
)


NO_CLOCK = Absent(
    reason="The clocks of the clips that show this throw could not be tied together.",
    advice="Clap once in view of both phones, or film with the sound on.",
)
NO_HOLD = Absent(
    reason="The landmarks of this throw do not hold together.",
    advice="Film the whole body without anything in front of it.",
)


@dataclass(frozen=True, kw_only=True)
class DrawnThrow:
    """A motion with its draws, ready to be measured."""

    motion: Motion
    """The motion."""
    by_source: dict[Source, Curves]
    """Draws for each source of uncertainty."""
    generator: np.random.Generator
    """The throw's generator as the draws left it."""


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
    results: list[MeasuredThrow | FailedThrow] = []
    for number, (members, own) in enumerate(zip(paired, generator.spawn(len(paired)), strict=True), start=1):
        if number - 1 in set_up.apart:
            results.append(FailedThrow(number=number, absent=MOVED))
        else:
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
    seed = read_seed(what[2])
    views = place_members(members, clips, clocks)
    if not views:
        return FailedThrow(number=number, absent=NO_CLOCK, tracked=members, seed=seed)
    try:
        return measure_viewed(number, views, clips, what)
    except np.linalg.LinAlgError:
        return FailedThrow(number=number, absent=NO_HOLD, tracked=members, seed=seed)


def read_seed(generator: np.random.Generator) -> DrawSeed:
    """Return what a generator that has given nothing yet was made from."""
    seed: Any = generator.bit_generator.seed_seq
    entropy = (seed.entropy,) if isinstance(seed.entropy, int) else tuple(seed.entropy or ())
    return DrawSeed(entropy=entropy, spawn_key=tuple(seed.spawn_key))


def place_members(members: Paired, clips: Sequence[ClipThrows], clocks: Sequence[Clock]) -> list[Placed]:
    """Return those of a throw's views whose clock is known, each with the track it came from."""
    placed = [(place_view(member, clips, clocks), member) for member in members]
    return [(view, member) for view, member in placed if isinstance(view, ViewedThrow)]


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
    views: Sequence[Placed],
    clips: Sequence[ClipThrows],
    what: What,
) -> MeasuredThrow:
    """Return one throw measured from its views; raises LinAlgError where the views do not hold together."""
    set_up, setting, generator = what
    is_right = setting.athlete.hand is ThrowingHand.RIGHT
    seen = tuple(view for view, _ in views)
    seed = read_seed(generator)
    motion = reconstruct_throw(seen, find_window(views), setting.priors, project_with_jacobian, is_right)
    drawn = DrawnThrow(motion=motion, by_source=draw_sources(motion, set_up, setting, generator), generator=generator)
    return measure_drawn((number, tuple(member for _, member in views), seed), drawn, clips, set_up, setting)


def measure_drawn(
    throw: tuple[int, Paired, DrawSeed],
    drawn: DrawnThrow,
    clips: Sequence[ClipThrows],
    set_up: FieldSetUp,
    setting: ChainSetting,
    held: Mapping[InstantName, float] = NOTHING_HELD,
) -> MeasuredThrow:
    """Return one throw measured from its draws; `throw` = number, tracks, seed; `held` as in `find_instants`."""
    number, members, seed = throw
    showing = [clips[member.clip] for member in members]
    pictures = combine_timing(showing), max(clip.times.rate_hz for clip in showing)
    # A copy, so that the same draws can be measured again with the same numbers.
    generator = deepcopy(drawn.generator)
    instants, times, measures, loads = measure_motion(drawn.by_source, set_up, setting, pictures, generator, held)
    if drawn.motion.views == 1:
        measures, loads = refuse_out_of_plane(measures), ONE_VIEW
    return MeasuredThrow(
        number=number,
        tracked=members,
        motion=drawn.motion,
        spread=combine_draws(drawn.by_source),
        instants=instants,
        times_s=dict(times),
        measures=measures,
        seed=seed,
        loads=loads,
    )


def find_window(views: Sequence[Placed]) -> tuple[float, float, float, float]:
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
