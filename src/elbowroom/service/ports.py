"""What the use cases need from the outside, each need as small as it can be."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from math import inf
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.findings.report import EncodedPicture
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent
from elbowroom.service.record_lines import SomeEntry
from elbowroom.service.record_types import Entry, TrailEntry
from elbowroom.service.record_values import AthleteLine, StoredFile, ValueLine, VaultFile
from elbowroom.service.visit_plan import VisitPlan


class LandmarkDetector(Protocol):
    """Finds people in pictures, and the landmarks of one of them.

    Pictures are uint8 (height, width, 3), red first, upright. Pixel (0, 0) is the centre of the top-left
    pixel. What one picture gives does not depend on the pictures it comes with, beyond the last digits of its
    numbers.
    """

    def find_people(self, pictures: Sequence[NDArray[np.uint8]]) -> list[tuple[Person, ...]]:
        """All people in each picture, surest first; an empty tuple where there is nobody."""
        ...

    def detect_landmarks(
        self, pictures: Sequence[NDArray[np.uint8]], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """Landmarks of the person in each picture's region, in the order of the pictures.

        Raises ValueError when there are not as many regions as pictures.
        """
        ...

    def name_version(self, size: LandmarkSize) -> str:
        """Name and digest of the model of that size, for the history of a result."""
        ...


class CameraFinder(Protocol):
    """Finds the cameras of a visit from its boards and ground marks."""

    def find_set_up(self, plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
        """Cameras in the field frame, one a clip in the order of the plan; raises `SetUpError` with advice."""
        ...


class PictureDrawer(Protocol):
    """Draws a skeleton on a picture and encodes the result."""

    def draw_key_picture(
        self, picture: NDArray[np.uint8], joints_px: NDArray[np.float64], seen: NDArray[np.bool_]
    ) -> EncodedPicture:
        """The picture (h, w, 3), red first, with the joints (19, 2) joined, cut to the athlete and encoded."""
        ...


class OpenClip(Protocol):
    """A clip whose picture times are known, and whose pictures and sound can be read as often as needed."""

    @property
    def clip(self) -> Clip:
        """What the clip is."""
        ...

    @property
    def times(self) -> ClipTimes:
        """When its pictures were taken."""
        ...

    def read_pictures(
        self, pictures: Iterable[int] | None = None, long_edge_px: int | None = None
    ) -> Iterator[tuple[int, NDArray[np.uint8]]]:
        """Upright pictures (number, (h, w, 3) red first) in the order of time, one at a time; all where left out.

        Raises ClipError for a number that the clip lacks or a picture that cannot be decoded.
        """
        ...

    def find_repeats(self, first: int = 0, last: int | None = None) -> ClipTimes:
        """The times with the repeated pictures from `first` to `last` marked, and the timing judged."""
        ...

    def read_sound(self, start_s: float = -inf, stop_s: float = inf) -> Sound | Absent:
        """The sound between two capture times, or why there is none."""
        ...


class ClipReader(Protocol):
    """Opens clips."""

    def read_clip(self, path: Path, stated_rate_hz: float | None = None) -> OpenClip:
        """Open a clip and check that it is whole.

        Raises ClipError, one sentence that says what to do, for whatever is wrong with the file or the stated rate.
        """
        ...


class RecordEntries(Protocol):
    """Keeps the entries of the record. Nothing is ever changed in place."""

    def add_entries(self, entries: Iterable[Entry]) -> None:
        """Add entries, each after those that it refers to; all of them or none.

        Raises `ConflictError` where a version or an id is taken already or an entry refers to one that is not there,
        and `RecordError` where they cannot be kept.
        """
        ...

    def find_entries(self, kind: type[SomeEntry], /, **matching: str | int) -> tuple[SomeEntry, ...]:
        """Entries of one kind whose fields equal what is given, by version where there is one, then by id."""
        ...

    def walk_entries(self) -> Iterator[Entry]:
        """All entries as they are at one moment, in an order in which they may be added again."""
        ...

    def remove_athlete(self, athlete_id: str) -> Mapping[str, int]:
        """Remove every entry about an athlete but the trail, for good; returns how many of each kind."""
        ...

    def check_entries(self) -> tuple[str, ...]:
        """What is wrong with the stored entries, a sentence each; empty where all is well."""
        ...


class RecordLists(Protocol):
    """Answers the questions that lists ask, fast."""

    def list_athletes(self, name_part: str = "", count: int = 50, skipped: int = 0) -> tuple[AthleteLine, ...]:
        """Athletes whose name holds a text in any case, by name, `count` after the first `skipped`."""
        ...

    def list_values(self, athlete_id: str, measure: str) -> tuple[ValueLine, ...]:
        """A measure of an athlete over time, from the newest screening of each visit, oldest visit first."""
        ...

    def list_overdue(self, last_before: date, born_before: date) -> tuple[AthleteLine, ...]:
        """Athletes born before one day whose last visit, or who were added where there was none, before another."""
        ...

    def list_acts(self, athlete_id: str = "", count: int = 50, skipped: int = 0) -> tuple[TrailEntry, ...]:
        """Lines of the trail, of one athlete where an id is given, newest first, `count` after the first `skipped`."""
        ...


class Vault(Protocol):
    """Keeps files so that only who knows the passphrase can read them."""

    def store_file(self, source: Path, drawer: str) -> StoredFile:
        """Keep a copy of a file in a drawer, whole or not at all; raises `RecordError`."""
        ...

    def read_range(self, file_id: str, start: int = 0, stop: int | None = None) -> Iterator[bytes]:
        """The plain bytes from `start` up to `stop`, cut to the file; raises `DamageError`."""
        ...

    def find_size(self, file_id: str) -> int:
        """Size of the plain file in bytes; raises `DamageError`."""
        ...

    def list_files(self, drawer: str = "") -> tuple[VaultFile, ...]:
        """The files of one drawer or of all, also what cut-off writes left behind."""
        ...

    def remove_files(self, file_ids: tuple[str, ...]) -> int:
        """Remove files for good; returns how many bytes. Files that are not there are passed over."""
        ...


class BackupShelf(Protocol):
    """Writes and reads backups, one file each, for one set of keys and one vault."""

    def write_backup(self, path: Path, lines: Iterable[str], file_ids: Iterable[str]) -> int:
        """Write lines (sealed), files and keys to one file, whole or not at all; returns its size in bytes.

        Raises `RecordError` where the file is there already or cannot be written.
        """
        ...

    def read_lines(self, path: Path) -> Iterator[str]:
        """The lines of a backup; raises `DamageError` or `RecordError`."""
        ...

    def unpack_files(self, path: Path) -> int:
        """Put the files of a backup into the vault; returns how many."""
        ...
