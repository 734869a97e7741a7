"""What the record holds of filming: what is known of the set-up and of each clip, uploads, checks and proxies."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.core.quantities.types import Absent
from elbowroom.service.record_types import RecordedEntry
from elbowroom.service.visit_plan import BoardSize


class Shows(StrEnum):
    """What a clip shows."""

    THROWS = "throws"
    BOARD = "board"


@dataclass(frozen=True, kw_only=True)
class SetUpEntry(RecordedEntry):
    """A version of what is known of the ground of a visit that is filmed here."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    version: int
    """From 1 within the visit; the highest holds."""
    target_m: float
    """From the front of the pitcher's plate to the target, metres."""
    board_size: BoardSize
    """Which board the board clips show."""
    tape_m: float
    """Length of a tape laid towards the target, metres; 0 for none."""
    mass_kg: float | Absent
    """Body mass, kilograms, or absent; loads need it."""


@dataclass(frozen=True, kw_only=True)
class UploadEntry(RecordedEntry):
    """A clip that somebody began to send; its file's entry, of the same name in the vault, says that it is there."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    name: str
    """Name of the file as it is kept, alone of that name in the visit."""
    size_bytes: int
    """Size of the whole file."""
    pieces_digest: str
    """SHA-256 over the digests of its pieces: by it a file that is sent again is known."""
    piece_digests: str
    """SHA-256 of each piece in hexadecimal, one after another: a piece that differs is refused."""
    shows: Shows
    """What the clip shows."""
    view: View
    """Where the camera stands."""


@dataclass(frozen=True, kw_only=True)
class FilmedClipEntry(RecordedEntry):
    """A version of what is known of a clip."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    file_entry_id: str
    """The entry of the clip's file."""
    version: int
    """From 1 within the visit, over all its clips; of a clip the highest holds."""
    shows: Shows
    """What the clip shows."""
    view: View
    """Where the camera stands."""
    rate_hz: float | Absent
    """Capture rate as a person states it, or absent where the file is believed."""
    thrower: Side | Absent
    """Side of the picture on which the athlete stands where two people throw, or absent."""
    marks: str
    """Ground marks pointed at in the picture, as JSON: the pixel of each name."""
    is_used: bool
    """Whether the screening takes it in."""


@dataclass(frozen=True, kw_only=True)
class ClipCheckEntry(RecordedEntry):
    """What the quick check of a clip found."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    file_entry_id: str
    """The entry of the clip's file."""
    lines: str
    """A list as JSON: what was checked, whether it is good, and a sentence."""


@dataclass(frozen=True, kw_only=True)
class ProxyEntry(RecordedEntry):
    """A smaller copy of a clip for stepping through its pictures, with the table of picture times."""

    athlete_id: str
    """The athlete."""
    visit_id: str
    """The visit."""
    clip_file_entry_id: str
    """The entry of the clip's file."""
    proxy_file_entry_id: str
    """The entry of the smaller copy."""
    times_file_entry_id: str
    """The entry of the table of picture times."""
