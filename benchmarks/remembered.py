"""Landmarks of a clip remembered on disk, so that the chain runs again in seconds.

The finding of throws, the choice of pictures and all that follows run as they are: only what the networks gave is
kept, by clip (SHA-256), by network (its own digest), by picture and by region. A picture or region that was not
looked at before is looked at then.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields
from math import inf
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.results.digests import digest_file
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.landmarks.layout import concatenate_pictures, select_pictures
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent
from elbowroom.service.ports import OpenClip

Picture = NDArray[np.uint8]
Key = tuple[str, int, int, int, int, int]
PARTS = tuple(part.name for part in fields(RawLandmarks))
PERSON_NUMBERS = 5
"""Centre x and y, size, turn and score of a person."""


def name_region(size: LandmarkSize, picture: int, region: Region) -> Key:
    """Name what was looked at: regions within a hundredth of a pixel and a tenth of a milliradian are the same."""
    x, y = (round(100 * float(value)) for value in region.centre_px)
    return size, picture, x, y, round(100 * region.size_px), round(1e4 * region.rotation_rad)


@dataclass
class Memory:
    """What the networks gave for one clip."""

    path: Path
    """The file that it is kept in."""
    people: dict[int, tuple[Person, ...]] = field(default_factory=dict)
    """Everybody in a picture."""
    landmarks: dict[Key, RawLandmarks] = field(default_factory=dict)
    """Landmarks in a region of a picture."""
    is_changed: bool = False
    """Whether there is something new to write."""

    def add(self, found: RawLandmarks, keys: Sequence[Key]) -> None:
        """Add landmarks, one picture a key, in the single precision in which they are kept."""
        kept = RawLandmarks(**{name: round_single(getattr(found, name)) for name in PARTS})
        for index, key in enumerate(keys):
            self.landmarks[key] = select_pictures(kept, np.array([index]))
        self.is_changed = True

    def write(self) -> None:
        """Write the file, whole or not at all."""
        if not self.is_changed:
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        rows = [(number, *list_person(person)) for number, people in self.people.items() for person in people]
        joined = concatenate_pictures(list(self.landmarks.values())) if self.landmarks else None
        parts = {name: getattr(joined, name).astype(np.float32) for name in PARTS} if joined else {}
        unfinished = self.path.with_suffix(".part.npz")
        np.savez_compressed(
            unfinished,
            pictures=np.array(sorted(self.people)),
            rows=np.array(rows, float).reshape(-1, 1 + PERSON_NUMBERS),
            keys=np.array([(key[0] == "large", *key[1:]) for key in self.landmarks], np.int64).reshape(-1, 6),
            **parts,
        )
        unfinished.replace(self.path)
        self.is_changed = False


def round_single(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Round to single precision, which the networks compute in."""
    return values.astype(np.float32).astype(np.float64)


def list_person(person: Person) -> tuple[float, ...]:
    """List the numbers of a person."""
    x, y = person.region.centre_px
    return float(x), float(y), person.region.size_px, person.region.rotation_rad, person.score


def read_memory(path: Path) -> Memory:
    """Read what is kept, or begin anew."""
    memory = Memory(path=path)
    if not path.is_file():
        return memory
    with np.load(path) as kept:
        memory.people = {int(number): () for number in kept["pictures"]}
        for number, x, y, size, turn, score in kept["rows"].tolist():
            region = Region(centre_px=np.array([x, y]), size_px=size, rotation_rad=turn)
            memory.people[int(number)] += (Person(region=region, score=score),)
        if len(kept["keys"]):
            everything = RawLandmarks(**{name: kept[name].astype(np.float64) for name in PARTS})
            for index, (large, *rest) in enumerate(kept["keys"].tolist()):
                key = ("large" if large else "light", *rest)
                memory.landmarks[key] = select_pictures(everything, np.array([index]))  # type: ignore[index]
    return memory


@dataclass(frozen=True)
class RememberedClip:
    """An `OpenClip` whose pictures, for the networks, are their numbers only: they are decoded when needed."""

    real: OpenClip
    """The clip itself."""

    @property
    def clip(self) -> Clip:
        """What the clip is."""
        return self.real.clip

    @property
    def times(self) -> ClipTimes:
        """When its pictures were taken."""
        return self.real.times

    def read_pictures(
        self, pictures: Iterable[int] | None = None, long_edge_px: int | None = None
    ) -> Iterator[tuple[int, Picture]]:
        """Stand-ins that carry the number of the picture."""
        for number in range(self.real.clip.picture_count) if pictures is None else pictures:
            yield number, np.frombuffer(np.int64(number).tobytes(), np.uint8)

    def find_repeats(self, first: int = 0, last: int | None = None) -> ClipTimes:
        """The times with repeated pictures marked."""
        return self.real.find_repeats(first, last)

    def read_sound(self, start_s: float = -inf, stop_s: float = inf) -> Sound | Absent:
        """The sound between two times."""
        return self.real.read_sound(start_s, stop_s)


@dataclass(frozen=True)
class RememberingDetector:
    """A `LandmarkDetector` of one clip that looks only where it did not look before."""

    real: LandmarkModel
    """The networks."""
    clip: OpenClip
    """The clip itself."""
    memory: Memory
    """What is known already."""

    def find_people(self, pictures: Sequence[Picture]) -> list[tuple[Person, ...]]:
        """All people in each picture."""
        numbers = [find_number(picture) for picture in pictures]
        missing = sorted({number for number in numbers if number not in self.memory.people})
        if missing:
            found = self.real.find_people([picture for _, picture in self.clip.read_pictures(missing)])
            self.memory.people.update(zip(missing, found, strict=True))
            self.memory.is_changed = True
        return [self.memory.people[number] for number in numbers]

    def detect_landmarks(
        self, pictures: Sequence[Picture], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """Landmarks of the person in each picture's region."""
        asked = [(find_number(picture), region) for picture, region in zip(pictures, regions, strict=True)]
        missing = [item for item in asked if name_region(size, *item) not in self.memory.landmarks]
        if missing:
            shown = dict(self.clip.read_pictures(sorted({number for number, _ in missing})))
            found = self.real.detect_landmarks(
                [shown[number] for number, _ in missing], [region for _, region in missing], size
            )
            self.memory.add(found, [name_region(size, *item) for item in missing])
        return concatenate_pictures([self.memory.landmarks[name_region(size, *item)] for item in asked])

    def name_version(self, size: LandmarkSize) -> str:
        """Name and digest of the model of that size."""
        return self.real.name_version(size)


def find_number(picture: Picture) -> int:
    """Find the number that a stand-in carries."""
    return int(picture.view(np.int64)[0])


def open_remembered(
    path: Path, model: LandmarkModel, folder: Path, rate_hz: float | None = None
) -> tuple[RememberedClip, RememberingDetector]:
    """Open a clip and what is remembered of it in a folder."""
    clip = read_clip(path, rate_hz)
    versions = "-".join(model.name_version(size).split()[-1][:8] for size in ("light", "large"))  # type: ignore[arg-type]
    memory = read_memory(folder / f"{digest_file(path)[:20]}-{versions}.npz")
    return RememberedClip(real=clip), RememberingDetector(real=model, clip=clip, memory=memory)
