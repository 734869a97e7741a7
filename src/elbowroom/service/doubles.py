"""In-memory doubles of the Protocols in `ports`, for tests and for trying the use cases without files or
models."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from math import inf
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.clips.timing import mark_repeats, time_pictures
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ClipError, SetUpError
from elbowroom.service.visit_plan import VisitPlan


class ScriptedLandmarkDetector:
    """A `LandmarkDetector` that gives stored people and landmarks, whatever the pictures show.

    A picture is known by the number in its first pixel, which `mark_picture` puts there.
    """

    def __init__(self, people: Sequence[tuple[Person, ...]], landmarks: RawLandmarks) -> None:
        """`people` and `landmarks` hold, for each picture number, what is to be given for that picture."""
        self._people = tuple(people)
        self._landmarks = landmarks
        self.pictures_seen: dict[LandmarkSize, int] = {"light": 0, "large": 0}

    def find_people(self, pictures: Sequence[NDArray[np.uint8]]) -> list[tuple[Person, ...]]:
        """The stored people of each picture."""
        return [self._people[read_picture_number(picture)] for picture in pictures]

    def detect_landmarks(
        self, pictures: Sequence[NDArray[np.uint8]], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """The stored landmarks of each picture, with the size of the region asked for."""
        if len(pictures) != len(regions):
            raise ValueError(f"{len(pictures)} pictures need as many regions, not {len(regions)}")
        self.pictures_seen[size] += len(pictures)
        numbers = np.array([read_picture_number(picture) for picture in pictures], np.int64)
        chosen = {field.name: getattr(self._landmarks, field.name)[numbers] for field in fields(RawLandmarks)}
        chosen["region_size_px"] = np.array([region.size_px for region in regions], np.float64)
        return RawLandmarks(**chosen)

    def name_version(self, size: LandmarkSize) -> str:
        """A name that says that this is no model."""
        return f"scripted {size}"


def mark_picture(number: int, height: int = 4, width: int = 4) -> NDArray[np.uint8]:
    """A black picture that carries its number in its first pixel, for `ScriptedLandmarkDetector`."""
    picture = np.zeros((height, width, 3), np.uint8)
    picture[0, 0] = [number & 255, number >> 8 & 255, number >> 16 & 255]
    return picture


def read_picture_number(picture: NDArray[np.uint8]) -> int:
    """The number that `mark_picture` put into the first pixel."""
    red, green, blue = (int(value) for value in picture[0, 0])
    return red + 256 * green + 65536 * blue


class StoredClip:
    """An `OpenClip` whose pictures and sound lie in memory."""

    def __init__(self, clip: Clip, times: ClipTimes, pictures: NDArray[np.uint8], sound: Sound | Absent) -> None:
        """`pictures` (n, h, w, 3) are upright, one for each time."""
        self.clip, self.times = clip, times
        self._pictures, self._sound = pictures, sound

    def read_pictures(
        self, pictures: Iterable[int] | None = None, long_edge_px: int | None = None
    ) -> Iterator[tuple[int, NDArray[np.uint8]]]:
        """The stored pictures, shrunk by leaving pixels out."""
        count = len(self._pictures)
        wanted = sorted(set(range(count) if pictures is None else pictures))
        if wanted and not 0 <= wanted[0] <= wanted[-1] < count:
            raise ClipError(f"{self.clip.name} has pictures 0 to {count - 1}; ask for one of these.")
        height, width = self._pictures.shape[1:3]
        scale = min(1.0, (long_edge_px or max(height, width)) / max(height, width))
        rows, columns = (np.arange(round(edge * scale)) * edge // round(edge * scale) for edge in (height, width))
        for number in wanted:
            yield number, self._pictures[number][np.ix_(rows, columns)]

    def find_repeats(self, first: int = 0, last: int | None = None) -> ClipTimes:
        """The times with exactly equal neighbours marked."""
        repeated = np.zeros(len(self._pictures), dtype=bool)
        for number in range(first + 1, len(self._pictures) if last is None else last + 1):
            repeated[number] = np.array_equal(self._pictures[number], self._pictures[number - 1])
        return mark_repeats(self.times, repeated)

    def read_sound(self, start_s: float = -inf, stop_s: float = inf) -> Sound | Absent:
        """The stored sound between two times."""
        if isinstance(self._sound, Absent):
            return self._sound
        rate_hz, zero_s = self._sound.rate_hz, self._sound.start_s
        first = int(np.clip((start_s - zero_s) * rate_hz, 0, len(self._sound.samples)))
        last = int(np.clip((stop_s - zero_s) * rate_hz, 0, len(self._sound.samples)))
        samples = self._sound.samples[first:last]
        return Sound(samples=samples, rate_hz=rate_hz, start_s=zero_s + first / rate_hz)


class StoredClipReader:
    """A `ClipReader` over clips in memory, known by the name of the file."""

    def __init__(self, clips: Mapping[str, StoredClip]) -> None:
        self._clips = dict(clips)

    def read_clip(self, path: Path, stated_rate_hz: float | None = None) -> StoredClip:
        """The stored clip of that name, timed anew where a rate is stated."""
        stored = self._clips.get(path.name)
        if stored is None:
            raise ClipError(f"{path.name} is not there; check the name and the folder.")
        if stated_rate_hz is None:
            return stored
        times = time_pictures(stored.times.times_s, stated_hz=stated_rate_hz)
        return StoredClip(stored.clip, times, stored._pictures, stored._sound)


class StatedCameraFinder:
    """A `CameraFinder` that gives a stored set-up, whatever boards and marks the plan names."""

    def __init__(self, set_up: FieldSetUp) -> None:
        """`set_up` holds one camera for each clip of the plans that will come."""
        self._set_up = set_up

    def find_set_up(self, plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
        """The stored set-up; raises `SetUpError` where the plan has another number of clips, or none has a
        sight."""
        if len(plan.clips) != len(self._set_up.cameras) or len(clips) != len(plan.clips):
            raise SetUpError(
                f"The set-up holds {len(self._set_up.cameras)} cameras and the plan {len(plan.clips)} clips; "
                "give one camera a clip."
            )
        if not any(clip.marks or clip.board_path for clip in plan.clips):
            raise SetUpError("No clip has a board or marks; film a board or mark the plate in every clip.")
        return self._set_up
