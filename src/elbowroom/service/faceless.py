"""Use case: a clip in which nobody can be recognised by the face, for teaching or research."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.heads import HeadTrack, add_circles, cover_heads, find_heads, find_uncovered
from elbowroom.core.landmarks.layout import select_pictures
from elbowroom.core.landmarks.people import PersonTrack, link_people
from elbowroom.core.landmarks.types import Person, RawLandmarks
from elbowroom.errors import ClipError, ConsentError
from elbowroom.service.athletes import check_consent
from elbowroom.service.landmarking import Progress, split_batches
from elbowroom.service.ports import LandmarkDetector, OpenClip
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Purpose

Picture = NDArray[np.uint8]
Array = NDArray[np.float64]
Covered = Callable[[Iterable[tuple[int, Picture, Array]]], None]
"""Writes pictures (number, picture, circles to hide) as a clip without sound and without any note of its origin."""
LARGEST_SHARE_BARE = 0.5
"""A clip in more than half of whose pictures nobody is found is refused: whoever is in it would stay clear."""
ROUNDS = 3
"""How often what was written is looked through and mended before the clip is refused."""


@dataclass(frozen=True, kw_only=True)
class HiddenClip:
    """What was hidden in a clip."""

    picture_count: int
    """Pictures of the clip."""
    hidden_count: int
    """Pictures in which at least one head was hidden."""
    bare_count: int
    """Pictures in which nobody was found, which are as they were."""
    mended_count: int
    """Pictures in which a second look found a head that was not covered, which was then covered."""


@dataclass(frozen=True, kw_only=True)
class FacelessTools:
    """What hiding faces needs from outside."""

    detector: LandmarkDetector
    """Finds people and landmarks."""
    open_clip: Callable[[Path], OpenClip]
    """Opens a clip; raises `ClipError`."""
    write_clip: Callable[[Path, OpenClip, Iterable[tuple[int, Picture, Array]]], None]
    """Writes covered pictures as a clip; raises `ClipError` or `ResultError`."""


def write_faceless(source: Path, target: Path, tools: FacelessTools, report: Progress) -> HiddenClip:
    """Write a copy of a clip with every head hidden, then look through what was written, picture by picture.

    A head that the second look finds uncovered is covered and the copy written anew; after three rounds the clip is
    refused. Raises `ClipError`; nothing is left at `target` then.
    """
    clip = tools.open_clip(source)
    heads = list(look_for_heads(clip, tools.detector, report))
    covers = cover_heads(follow_heads(heads), clip.times.times_s)
    bare = sum(not len(circles) for circles in covers)
    if bare > LARGEST_SHARE_BARE * len(covers):
        raise ClipError(f"{clip.clip.name} shows nobody in most pictures, so no face can be hidden: choose another clip.")
    mended: set[int] = set()
    try:
        for _ in range(ROUNDS):
            tools.write_clip(target, clip, walk_covered(clip, covers))
            found = find_clear_heads(tools.open_clip(target), covers, tools.detector, report)
            if not found:
                break
            mended |= set(found)
            covers = add_circles(covers, found)
        else:
            raise ClipError(f"Not every head of {clip.clip.name} can be hidden: do not give this clip away.")
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return HiddenClip(
        picture_count=len(covers), hidden_count=len(covers) - bare, bare_count=bare, mended_count=len(mended)
    )


def check_covered_by_consent(tools: RecordTools, athlete_id: str, purpose: Purpose) -> None:
    """Raise `ConsentError` where no consent covers giving clips for a purpose."""
    if purpose is Purpose.CARE:
        raise ConsentError("A consent for care covers no clips for others: ask for one for teaching or research.")
    check_consent(tools, athlete_id, purpose)


def look_for_heads(
    clip: OpenClip, detector: LandmarkDetector, report: Progress
) -> Iterator[tuple[int, tuple[Person, ...], RawLandmarks | None]]:
    """Give for every picture its number, the people in it and their landmarks (none where nobody is found)."""
    count = clip.clip.picture_count
    for batch in split_batches(clip.read_pictures()):
        pictures = [picture for _, picture in batch]
        everybody = detector.find_people(pictures)
        rows = [row for row, people in enumerate(everybody) for _ in people]
        regions = [person.region for people in everybody for person in people]
        landmarks = detector.detect_landmarks([pictures[row] for row in rows], regions, "light") if rows else None
        for row, (number, _) in enumerate(batch):
            own = np.flatnonzero(np.array(rows) == row) if rows else np.array([], dtype=np.int64)
            part = select_pictures(landmarks, own) if landmarks is not None and len(own) else None
            yield number, everybody[row], part
        report(f"looking for heads in {clip.clip.name}", batch[-1][0] + 1, count)


def follow_heads(found: Sequence[tuple[int, tuple[Person, ...], RawLandmarks | None]]) -> list[HeadTrack]:
    """Return everybody's head over time; a person found once only is a track of one picture."""
    numbers = np.array([number for number, _, _ in found], dtype=np.int64)
    tracks = link_people([people for _, people, _ in found], numbers)
    circles = {number: find_heads(raw) for number, _, raw in found if raw is not None}
    people = {number: persons for number, persons, _ in found}
    return [_build_track(track, circles, people) for track in tracks]


def _build_track(
    track: PersonTrack, circles: dict[int, Array], people: dict[int, tuple[Person, ...]]
) -> HeadTrack:
    rows = []
    for number, region in zip(track.pictures.tolist(), track.regions, strict=True):
        place = next(place for place, person in enumerate(people[number]) if person.region is region)
        rows.append(circles[number][place])
    return HeadTrack(pictures=track.pictures, circles_px=np.array(rows))


def walk_covered(clip: OpenClip, covers: Sequence[Array]) -> Iterator[tuple[int, Picture, Array]]:
    """Give every picture of a clip with the circles to hide in it."""
    for number, picture in clip.read_pictures():
        yield number, picture, covers[number]


def find_clear_heads(
    written: OpenClip, covers: Sequence[Array], detector: LandmarkDetector, report: Progress
) -> dict[int, Array]:
    """Return by picture the circles of heads that are not covered in what was written."""
    if written.clip.picture_count != len(covers):
        raise ClipError(f"{written.clip.name} lost pictures while it was written: report this.")
    found: dict[int, Array] = {}
    for number, _, raw in look_for_heads(written, detector, report):
        if raw is None:
            continue
        clear = find_uncovered(raw, covers[number])
        if len(clear):
            found[number] = find_heads(select_pictures(raw, clear))
    return found
