"""Use case: look within seconds whether a clip will do, while the athlete is still there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import View
from elbowroom.core.clips.light import measure_light
from elbowroom.core.clips.types import Sufficient
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.facing import choose_direction, estimate_facing
from elbowroom.core.landmarks.layout import concatenate_pictures
from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.quantities.types import Absent
from elbowroom.service.check_types import CheckLine, CheckWish
from elbowroom.service.landmarking import Progress, split_batches
from elbowroom.service.ports import LandmarkDetector, OpenClip

MOST_PICTURES, PICTURES_HZ = 36, 4.0
"""Pictures that are looked at: some a second, and no more than so many in all."""
REPEATS_S = 0.5
"""Length of the middle of the clip that is looked through for repeated pictures, seconds."""
SHORTEST_S, LONGEST_S = 2.0, 180.0
DARK_LEVEL, BRIGHT_LEVEL, BLOWN_SHARE = 55.0, 215.0, 0.25
"""Mean levels and share of white pixels between which faces and joints show (our choice)."""
SMALLEST_PX = 300.0
"""Least height of the athlete in the picture (common practice of this project's error tables, no other source)."""
SEEN_SHARE = 0.5
QUIET_LEVEL = 1e-4

Opener = Callable[[Path, float | None], OpenClip]


@dataclass(frozen=True, kw_only=True)
class CheckTools:
    """What a quick check needs from outside."""

    open_clip: Opener
    """Opens a clip; raises `ClipError`."""
    detector: LandmarkDetector
    """Finds people and landmarks; the light model only is used."""


def check_clip(tools: CheckTools, wish: CheckWish, report: Progress) -> tuple[CheckLine, ...]:
    """Return what was found about rate, length, light, sound, the thrower and the view; raises `ClipError`."""
    clip = tools.open_clip(wish.path, None if isinstance(wish.rate_hz, Absent) else wish.rate_hz)
    count = min(MOST_PICTURES, max(4, round(clip.clip.duration_s * PICTURES_HZ)))
    wanted = np.unique(np.linspace(0, clip.clip.picture_count - 1, count).astype(np.int64)).tolist()
    report("looking at the clip", 0, len(wanted))
    pictures = [picture for _, picture in clip.read_pictures(wanted, 1280)]
    people = _find_thrower(tools.detector, pictures, report)
    scale = clip.clip.height_px / pictures[0].shape[0]
    return (
        describe_rate(clip),
        describe_length(clip),
        describe_light(pictures),
        describe_sound(clip),
        describe_thrower(people, pictures, scale),
        describe_view(people, wish),
    )


def describe_rate(clip: OpenClip) -> CheckLine:
    """Say what the capture rate carries, with the pictures of the middle looked through for repeats."""
    half = round(REPEATS_S * clip.times.rate_hz / 2)
    middle, last = clip.clip.picture_count // 2, clip.clip.picture_count - 1
    times = clip.find_repeats(max(0, middle - half), min(last, middle + half))
    rate = f"{times.rate_hz:.0f} pictures a second"
    if isinstance(times.timing.arm_rates, Sufficient):
        return CheckLine(what="rate", is_good=True, words=f"{rate}: enough for everything.")
    verdict = times.timing.instants if isinstance(times.timing.instants, Absent) else times.timing.arm_rates
    assert isinstance(verdict, Absent)
    return CheckLine(what="rate", is_good=False, words=f"{rate}: {verdict.reason} {verdict.advice}".strip())


def describe_length(clip: OpenClip) -> CheckLine:
    """Say whether the clip is long enough for a throw and short enough to be screened soon."""
    length_s = clip.clip.duration_s
    if length_s < SHORTEST_S:
        words = f"{length_s:.1f} s is short: film from two seconds before the throw to one second after it."
    elif length_s > LONGEST_S:
        words = f"{length_s:.0f} s is long, and its screening will take its time: stop the phone between athletes."
    else:
        words = f"{length_s:.1f} s."
    return CheckLine(what="length", is_good=SHORTEST_S <= length_s <= LONGEST_S, words=words)


def describe_light(pictures: Sequence[NDArray[np.uint8]]) -> CheckLine:
    """Say whether the pictures are neither dark nor blown out."""
    light = measure_light(pictures)
    if light.mean_level < DARK_LEVEL:
        words = "It is dark: switch on lights, or film nearer to a window or lamp, or the arm will blur."
    elif light.mean_level > BRIGHT_LEVEL or light.white_share > BLOWN_SHARE:
        words = "It is too bright: turn the phone away from the sun or window, or tap on the athlete to set the light."
    else:
        return CheckLine(what="light", is_good=True, words="The light will do.")
    return CheckLine(what="light", is_good=False, words=words)


def describe_sound(clip: OpenClip) -> CheckLine:
    """Say whether there is sound, by which the clocks of two phones are tied together."""
    sound = clip.read_sound()
    if isinstance(sound, Absent):
        words = "There is no sound: with two phones, film with the sound on, so that their clocks can be tied together."
        return CheckLine(what="sound", is_good=False, words=words)
    if not len(sound.samples) or float(np.abs(sound.samples).max()) < QUIET_LEVEL:
        return CheckLine(what="sound", is_good=False, words="The sound is silent: uncover the microphone.")
    return CheckLine(what="sound", is_good=True, words="There is sound.")


def describe_thrower(people: RawLandmarks, pictures: Sequence[NDArray[np.uint8]], scale_factor: float) -> CheckLine:
    """Say whether one whole person is in the picture, large enough; `scale_factor` = clip pixels a given pixel."""
    if len(people.pixels) < SEEN_SHARE * len(pictures):
        words = f"A person is in {len(people.pixels)} of {len(pictures)} pictures only: aim at the athlete."
        return CheckLine(what="thrower", is_good=False, words=words)
    height, width = pictures[0].shape[:2]
    body = people.pixels[:, [Landmark.NOSE, *range(Landmark.LEFT_SHOULDER, len(Landmark))]]
    inside = (body[..., 0] >= 0) & (body[..., 0] < width) & (body[..., 1] >= 0) & (body[..., 1] < height)
    tall_px = scale_factor * float(np.median(np.ptp(body[..., 1], axis=1)))
    if np.mean(inside.all(axis=1)) < 1.0 - SEEN_SHARE / 4:
        words = "Parts of the athlete leave the picture: step back, or turn the phone, until the whole throw fits."
        return CheckLine(what="thrower", is_good=False, words=words)
    if tall_px < SMALLEST_PX:
        words = f"The athlete is {tall_px:.0f} pixels tall: come nearer, until it is {SMALLEST_PX:.0f} or more."
        return CheckLine(what="thrower", is_good=False, words=words)
    return CheckLine(what="thrower", is_good=True, words=f"The whole athlete is in the picture, {tall_px:.0f} px tall.")


def describe_view(people: RawLandmarks, wish: CheckWish) -> CheckLine:
    """Say whether the camera seems to stand where it is said to."""
    hand = Side.RIGHT if wish.hand is ThrowingHand.RIGHT else Side.LEFT
    facing = estimate_facing(people, hand)
    seen = facing if isinstance(facing, Absent) else choose_direction(facing, hand)
    if isinstance(seen, Absent) or wish.view is View.OBLIQUE:
        words = f"Said to be {wish.view}; the pictures do not contradict it."
        return CheckLine(what="view", is_good=True, words=words)
    if seen == str(wish.view):
        return CheckLine(what="view", is_good=True, words=f"It looks like the {wish.view} view.")
    words = f"It is said to be {wish.view}, but looks like {seen}: correct the view, or the hand of the athlete."
    return CheckLine(what="view", is_good=False, words=words)


def _find_thrower(detector: LandmarkDetector, pictures: Sequence[NDArray[np.uint8]], report: Progress) -> RawLandmarks:
    """Return the light landmarks of the largest person of each picture that shows one."""
    parts = list(_look(detector, pictures, report))
    return concatenate_pictures(parts) if parts else detector.detect_landmarks([], [], "light")


def _look(
    detector: LandmarkDetector, pictures: Sequence[NDArray[np.uint8]], report: Progress
) -> Iterator[RawLandmarks]:
    done = 0
    for batch in split_batches(pictures):
        people = detector.find_people(batch)
        seen = [picture for picture, some in zip(batch, people, strict=True) if some]
        regions = [max(some, key=lambda one: one.region.size_px).region for some in people if some]
        if seen:
            yield detector.detect_landmarks(seen, regions, "light")
        done += len(batch)
        report("looking at the clip", done, len(pictures))
