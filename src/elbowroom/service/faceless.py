"""Use case: a clip in which nobody can be recognised by the face, for teaching or research."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.heads import HeadTrack, add_circles, find_heads, find_uncovered, place_circles
from elbowroom.core.landmarks.layout import concatenate_pictures, select_pictures
from elbowroom.core.landmarks.people import PersonTrack, link_people
from elbowroom.core.landmarks.types import Person, RawLandmarks, Region
from elbowroom.errors import ClipError, ConsentError, RecordError
from elbowroom.service.athletes import check_consent
from elbowroom.service.landmarking import Progress, split_batches
from elbowroom.service.ports import LandmarkDetector, OpenClip
from elbowroom.service.record_tools import RecordTools, note_act, unpack_pieces
from elbowroom.service.record_types import Act, FileEntry, FileKind, Purpose, VisitEntry
from elbowroom.service.record_values import Stamp

Picture = NDArray[np.uint8]
Array = NDArray[np.float64]
LARGEST_SHARE_BARE = 0.5
"""A clip in more than half of whose pictures nobody is found is refused: whoever is in it would stay clear."""
FEW = 8
"""Landmarks looked for at once."""
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
class FacelessPlan:
    """What is given away, to what end."""

    purpose: Purpose
    """Teaching or research; consent has to cover it."""
    code: str
    """What stands for the athlete in the names of the files."""
    folder: Path
    """Where the clips go; it must not be there, or be empty."""
    stamp: Stamp
    """Who gives it, when."""
    open_folder: Callable[[], AbstractContextManager[Path]]
    """Gives a folder for plain clips that is overwritten and removed at the end, also after a kill."""


@dataclass(frozen=True, kw_only=True)
class FacelessTools:
    """What hiding faces needs from outside."""

    detector: LandmarkDetector
    """Finds people and landmarks."""
    open_clip: Callable[[Path], OpenClip]
    """Opens a clip; raises `ClipError`."""
    write_clip: Callable[[Path, OpenClip, Iterable[tuple[int, Picture, Array]]], None]
    """Writes covered pictures as a clip; raises `ClipError` or `ResultError`."""
    place_folder: Callable[[Path], AbstractContextManager[Path]]
    """Gives a passing folder and puts it in place at the end, or leaves nothing after an error."""


def write_faceless(source: Path, target: Path, tools: FacelessTools, report: Progress) -> HiddenClip:
    """Write a copy of a clip with every head hidden, then look through what was written, picture by picture.

    A head that the second look finds uncovered is covered and the copy written anew; after three rounds the clip is
    refused. Raises `ClipError`; nothing is left at `target` then.
    """
    clip = tools.open_clip(source)
    heads = list(look_for_heads(clip, tools.detector, report))
    covers = place_circles(track_heads(heads), clip.times.times_s)
    bare = sum(not len(circles) for circles in covers)
    if bare > LARGEST_SHARE_BARE * len(covers):
        raise ClipError(
            f"{clip.clip.name} shows nobody in most pictures, so no face can be hidden: choose another clip."
        )
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


def write_visit_faceless(
    record: RecordTools, visit: VisitEntry, plan: FacelessPlan, tools: FacelessTools, report: Progress
) -> dict[str, HiddenClip]:
    """Write every clip of a kept visit with heads hidden to a folder; returns what was hidden by file name.

    The folder is new and holds all clips or is not there. Raises `ConsentError` where no consent covers the purpose,
    `ClipError` where a clip has to stay in the clinic, `ResultError` where the folder cannot be written.
    """
    check_covered_by_consent(record, visit.athlete_id, plan.purpose)
    files = list_clip_files(record, visit)
    if not files:
        raise RecordError("No clip of this visit is kept: name another visit.")
    hidden: dict[str, HiddenClip] = {}
    with tools.place_folder(plan.folder) as folder, plan.open_folder() as passing:
        for number, file in enumerate(files, start=1):
            source = passing / f"{number}{Path(file.name).suffix}"
            unpack_pieces(record.vault.read_range(file.file_id), file.name, source)
            name = f"{plan.code}-{number}.mp4"
            hidden[name] = write_faceless(source, folder / name, tools, report)
    act = note_act(record, plan.stamp, Act.GAVE, visit.athlete_id, f"clips without faces, for {plan.purpose}")
    record.entries.add_entries([act])
    return hidden


def list_clip_files(record: RecordTools, visit: VisitEntry) -> tuple[FileEntry, ...]:
    """Return the files of a visit's clips."""
    return record.entries.find_entries(FileEntry, visit_id=visit.id, kind=str(FileKind.CLIP))


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
        landmarks = _detect_evenly(detector, [pictures[row] for row in rows], regions)
        for row, (number, _) in enumerate(batch):
            own = np.flatnonzero(np.array(rows) == row) if rows else np.array([], dtype=np.int64)
            part = select_pictures(landmarks, own) if landmarks is not None and len(own) else None
            yield number, everybody[row], part
        report(f"looking for heads in {clip.clip.name}", batch[-1][0] + 1, count)


def _detect_evenly(
    detector: LandmarkDetector, pictures: Sequence[Picture], regions: Sequence[Region]
) -> RawLandmarks | None:
    """Return the landmarks of all regions, few at a time: a network keeps the room of the most that it ever saw."""
    if not pictures:
        return None
    parts = [
        detector.detect_landmarks([picture for picture, _ in batch], [region for _, region in batch], "light")
        for batch in split_batches(zip(pictures, regions, strict=True), FEW)
    ]
    return concatenate_pictures(parts)


def track_heads(found: Sequence[tuple[int, tuple[Person, ...], RawLandmarks | None]]) -> list[HeadTrack]:
    """Return everybody's head over time; a person found once only is a track of one picture."""
    numbers = np.array([number for number, _, _ in found], dtype=np.int64)
    tracks = link_people([people for _, people, _ in found], numbers)
    circles = {number: find_heads(raw) for number, _, raw in found if raw is not None}
    people = {number: persons for number, persons, _ in found}
    return [_build_track(track, circles, people) for track in tracks]


def _build_track(track: PersonTrack, circles: dict[int, Array], people: dict[int, tuple[Person, ...]]) -> HeadTrack:
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
