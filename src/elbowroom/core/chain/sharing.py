"""Which throws there are: found in each clip by itself, then shared, since one view finds what another misses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.types import View
from elbowroom.core.clips.types import Sound
from elbowroom.core.clocks.sound import estimate_sound_offset
from elbowroom.core.clocks.types import ClockOffset, SoundPaths
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.people import Candidate
from elbowroom.core.landmarks.sides import SideKnowledge, repair_sides
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array
from elbowroom.core.throws.find import find_throws
from elbowroom.core.throws.pair import pair_throws, shift_window
from elbowroom.core.throws.types import PairedThrow, ThrowWindow

BEST_VIEWS = (View.OPEN_SIDE, View.OBLIQUE, View.FRONT, View.GLOVE_SIDE, View.BEHIND)
"""Views from the one that tells the moments of a throw best to the one that tells them least."""
ROUGH_DISTANCE_M = 10.0
"""Distances of sound count as unknown to this size while throws are only being matched."""
Windows = tuple[ThrowWindow, ...]


@dataclass(frozen=True, kw_only=True)
class WatchedClip:
    """One clip as the light model saw it."""

    view: View
    """Where the camera stands."""
    times_s: Array
    """(n,) capture times of all pictures."""
    candidate: Candidate
    """The thrower with the light landmarks in the sparse pictures."""
    sound: Sound | Absent
    """The clip's sound, or why there is none."""


def share_throws(clips: Sequence[WatchedClip], hand: Side) -> tuple[Windows, ...] | Absent:
    """Return the throws of every clip (on its own clock), each on the word of the view that tells it best.

    `Absent` where no clip shows a throw, where the throws are made with the other hand than `hand`, or where the
    clips cannot be laid over one another.
    """
    found = [find_clip_throws(clip, hand) for clip in clips]
    windows = [() if isinstance(item, Absent) else item for item in found]
    if not any(windows):
        return next(item for item in found if isinstance(item, Absent))
    refusal = refuse_other_hand(windows, hand)
    if isinstance(refusal, Absent):
        return refusal
    known = find_rough_offsets(clips, windows)
    pairs = pair_throws(windows, known)
    if isinstance(pairs, Absent):
        return pairs
    offsets = measure_offsets(windows, pairs, known)
    shared = [place_throw(pair, clips, windows, offsets, hand) for pair in pairs]
    return tuple(
        tuple(item for row in shared if not isinstance(item := row[number], Absent)) for number in range(len(clips))
    )


def find_clip_throws(clip: WatchedClip, hand: Side) -> Windows | Absent:
    """Return the throws that one clip shows by itself, sides put right first."""
    candidate = clip.candidate
    known = SideKnowledge(is_behind=clip.view is View.BEHIND, is_front=clip.view is View.FRONT)
    pictures = np.arange(len(candidate.times_s))
    repaired, _ = repair_sides(candidate.landmarks, pictures, candidate.times_s, known)
    return find_throws(candidate.times_s, repaired)


def refuse_other_hand(windows: Sequence[Windows], hand: Side) -> Absent | None:
    """Return why the stated hand cannot be right where most windows of all clips say so, else nothing."""
    sides = [window.side for clip in windows for window in clip]
    others = [side for side in sides if side is not hand]
    if 2 * len(others) <= len(sides):
        return None
    seen = others[0].value
    return Absent(
        reason=f"The athlete is said to throw with the {hand.value} hand, but the clips show the {seen} arm throw.",
        advice="Correct the hand in the visit file, or film again without mirroring the picture.",
    )


def find_rough_offsets(clips: Sequence[WatchedClip], windows: Sequence[Windows]) -> dict[int, float]:
    """Return what to add to each clip's times to reach the first clip's, where the sound tells it."""
    offsets = {}
    for number, clip in enumerate(clips[1:], start=1):
        sound = compare_sounds(clips[0], clip)
        if isinstance(sound, ClockOffset):
            middle = windows[number][0].release_guess_s if windows[number] else float(clip.times_s[0])
            offsets[number] = float(sound.convert_times(np.array([middle]))[0]) - middle
    return offsets


def compare_sounds(first: WatchedClip, second: WatchedClip) -> ClockOffset | Absent:
    """Return the rough offset of two clips by their sound, the ways of the sound taken as equal."""
    if isinstance(first.sound, Absent):
        return first.sound
    if isinstance(second.sound, Absent):
        return second.sound
    paths = SoundPaths(reference_m=0.0, other_m=0.0, standard_m=ROUGH_DISTANCE_M)
    return estimate_sound_offset(first.sound, second.sound, paths)


def measure_offsets(
    windows: Sequence[Windows], pairs: Sequence[PairedThrow], known: Mapping[int, float]
) -> list[float | Absent]:
    """Return what to add to each clip's times to reach the first clip's: by sound (`known`), else by shared throws."""
    offsets: list[float | Absent] = [0.0]
    for number in range(1, len(windows)):
        gaps = [
            windows[0][members[0]].release_guess_s - windows[number][members[number]].release_guess_s
            for pair in pairs
            if {0, number} <= (members := dict(pair.members)).keys()
        ]
        missing = Absent(reason=f"Nothing ties clip {number + 1} to the first clip.", advice="Film with the sound on.")
        offsets.append(known.get(number, float(np.median(gaps)) if gaps else missing))
    return offsets


def place_throw(
    pair: PairedThrow,
    clips: Sequence[WatchedClip],
    windows: Sequence[Windows],
    offsets: Sequence[float | Absent],
    hand: Side,
) -> list[ThrowWindow | Absent]:
    """Return one throw's window in every clip, taken over from the view that tells it best."""
    best = min(pair.members, key=lambda member: BEST_VIEWS.index(clips[member[0]].view))
    window = replace(windows[best[0]][best[1]], side=hand)
    base = offsets[best[0]]
    placed: list[ThrowWindow | Absent] = []
    for clip, offset in zip(clips, offsets, strict=True):
        if isinstance(base, Absent) or isinstance(offset, Absent):
            placed.append(window if clip is clips[best[0]] else Absent(reason="The clocks of the clips are not tied."))
        else:
            placed.append(shift_window(window, base - offset, clip.times_s))
    return placed
