"""From an opened clip to the thrower's landmarks: a light look at few pictures, then a close look at each throw."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import concatenate_pictures, select_pictures
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.people import Candidate, PersonTrack, interpolate_regions, link_people, pick_thrower
from elbowroom.core.landmarks.types import Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.choose import choose_pictures
from elbowroom.core.throws.types import PictureChoice, SeenThrow, ThrowWindow
from elbowroom.errors import ScreeningError
from elbowroom.service.ports import LandmarkDetector, OpenClip

SPARSE_HZ = 30.0
"""Pictures a second that the light model looks at: a throw's arm swing then shows in five to eight pictures."""
MOST_PEOPLE = 4
"""Most people looked at in one picture, surest first."""
BATCH = 16
"""Pictures held at once: bounds the memory whatever the length of the clip."""
FEWEST_PICTURES = 8
"""A person seen in fewer sparse pictures than this is a passer-by."""

Item = TypeVar("Item")
"""Anything that comes in batches."""
Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""


@dataclass(frozen=True, kw_only=True)
class WatchedPerson:
    """One person followed through a clip with the light model's landmarks."""

    track: PersonTrack
    """Where the person was in the sparse pictures."""
    candidate: Candidate
    """Times and light landmarks."""


def split_batches(items: Iterable[Item], size: int = BATCH) -> Iterator[list[Item]]:
    """Yield the items in lists of at most `size`."""
    iterator = iter(items)
    while batch := list(islice(iterator, size)):
        yield batch


def watch_clip(clip: OpenClip, detector: LandmarkDetector, report: Progress) -> tuple[WatchedPerson, ...]:
    """Look at about 30 pictures a second of the whole clip with the light model and follow everybody in it."""
    step = max(1, round(clip.times.rate_hz / SPARSE_HZ))
    wanted = np.arange(0, clip.clip.picture_count, step)
    people: list[tuple[Person, ...]] = []
    found: dict[tuple[int, int], RawLandmarks] = {}
    for batch in split_batches(clip.read_pictures(wanted.tolist())):
        pictures = [picture for _, picture in batch]
        everybody = [persons[:MOST_PEOPLE] for persons in detector.find_people(pictures)]
        for number, landmarks in _detect_everybody(detector, pictures, everybody):
            found[(len(people) + number[0], number[1])] = landmarks
        people += everybody
        report(f"looking through {clip.clip.name}", len(people), len(wanted))
    tracks = link_people(people, wanted)
    return tuple(
        _gather_person(clip, track, people, found, wanted) for track in tracks if len(track.pictures) >= FEWEST_PICTURES
    )


def _detect_everybody(
    detector: LandmarkDetector, pictures: Sequence[NDArray[np.uint8]], everybody: Sequence[Sequence[Person]]
) -> Iterator[tuple[tuple[int, int], RawLandmarks]]:
    numbers = [(row, place) for row, persons in enumerate(everybody) for place in range(len(persons))]
    if not numbers:
        return
    regions = [everybody[row][place].region for row, place in numbers]
    landmarks = detector.detect_landmarks([pictures[row] for row, _ in numbers], regions, "light")
    for index, number in enumerate(numbers):
        yield number, select_pictures(landmarks, np.array([index]))


def _gather_person(
    clip: OpenClip,
    track: PersonTrack,
    people: Sequence[Sequence[Person]],
    found: dict[tuple[int, int], RawLandmarks],
    wanted: NDArray[np.int64],
) -> WatchedPerson:
    rows = np.searchsorted(wanted, track.pictures)
    parts = [
        found[(int(row), _find_place(people[row], region))] for row, region in zip(rows, track.regions, strict=True)
    ]
    candidate = Candidate(times_s=clip.times.times_s[track.pictures], landmarks=concatenate_pictures(parts))
    return WatchedPerson(track=track, candidate=candidate)


def _find_place(persons: Sequence[Person], region: Region) -> int:
    return next(place for place, person in enumerate(persons) if person.region is region)


def pick_watched(clip: OpenClip, watched: Sequence[WatchedPerson], which: Side | None) -> WatchedPerson:
    """Return the thrower among the people watched; raises `ScreeningError` with the reason where that is unclear."""
    chosen = pick_thrower([person.candidate for person in watched], which)
    if isinstance(chosen, Absent):
        raise ScreeningError(f"{clip.clip.name}: {chosen.reason} {chosen.advice}".strip())
    return watched[chosen]


def look_closely(
    clip: OpenClip,
    thrower: WatchedPerson,
    windows: Sequence[ThrowWindow],
    detector: LandmarkDetector,
    report: Progress,
) -> tuple[SeenThrow, ...]:
    """Return every throw with the large model's landmarks, dense from foot contact to release and sparse elsewhere."""
    choices = [choose_pictures(window, clip.times.times_s) for window in windows]
    total, done = sum(len(choice.pictures) for choice in choices), 0
    seen = []
    for window, choice in zip(windows, choices, strict=True):
        landmarks = _detect_chosen(clip, thrower.track, choice, detector)
        done += len(choice.pictures)
        report(f"measuring {clip.clip.name}", done, total)
        seen.append(SeenThrow(window=window, choice=choice, landmarks=landmarks))
    return tuple(seen)


def _detect_chosen(
    clip: OpenClip, track: PersonTrack, choice: PictureChoice, detector: LandmarkDetector
) -> RawLandmarks:
    parts = []
    regions = dict(zip(choice.pictures.tolist(), interpolate_regions(track, choice.pictures), strict=True))
    for batch in split_batches(clip.read_pictures(choice.pictures.tolist())):
        parts.append(
            detector.detect_landmarks(
                [picture for _, picture in batch], [regions[number] for number, _ in batch], "large"
            )
        )
    return concatenate_pictures(parts)
