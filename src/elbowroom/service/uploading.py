"""Use cases: take in a clip piece by piece, so that a cut line, a restart or a kill costs one piece at the most."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

from elbowroom.core.cameras.types import View
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, RecordError
from elbowroom.service.asking_jobs import JobWish, add_job
from elbowroom.service.filming import FilmedVisit, check_filming_consent, get_filmed_visit
from elbowroom.service.filming_types import FilmedClipEntry, ProxyEntry, Shows, UploadEntry
from elbowroom.service.job_types import JobKind
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, ClipEntry, Entry, FileEntry, FileKind, VisitEntry
from elbowroom.service.record_values import Stamp, StoredFile

PIECE_BYTES = 4 << 20
"""Size of every piece but the last."""
MOST_BYTES = 16 << 30
"""Largest clip that is taken in."""
ROOM_BYTES = 256 << 20
"""Room that the disk keeps for everything else."""
LONGEST_NAME = 100
DIGEST_LETTERS = 64
TRIES = 8
"""How often two clips that come to their end at once try to take their turns."""
CHECK_VERSION, PROXY_VERSION = "check 1", "proxy 1"
"""What the results of these jobs depend on besides the clip."""


@dataclass(frozen=True, kw_only=True)
class UploadFacts:
    """What is said of a file before it is sent."""

    name: str
    """Name of the file."""
    size_bytes: int
    """Its size."""
    piece_digests: tuple[str, ...]
    """SHA-256 of each piece, in hexadecimal."""
    shows: Shows
    """What the clip shows."""
    view: View
    """Where the camera stood."""


@dataclass(frozen=True, kw_only=True)
class UploadState:
    """How far an upload is."""

    upload: UploadEntry
    """The upload."""
    received_count: int
    """Pieces that are kept, from the first on."""
    piece_count: int
    """Pieces of the whole file."""
    file: FileEntry | Absent
    """The file's entry once the upload is finished."""


def begin_upload(tools: RecordTools, visit_id: str, facts: UploadFacts, stamp: Stamp) -> UploadState:
    """Begin to take in a file, or go on with the same file of the same visit where it stopped.

    Raises `ConsentError`, and `RecordError` for a file that cannot be taken in or has no room.
    """
    filmed = get_filmed_visit(tools, visit_id)
    check_filming_consent(tools, filmed.visit.athlete_id, stamp.at.date())
    check_upload(facts)
    digest = hashlib.sha256("".join(facts.piece_digests).encode()).hexdigest()
    known = tools.entries.find_entries(UploadEntry, visit_id=visit_id, pieces_digest=digest)
    if known:
        return find_upload(tools, known[0].id)
    if tools.uploads.find_room() < facts.size_bytes + ROOM_BYTES:
        raise RecordError(
            f"The disk has no room for {facts.size_bytes / 1e6:.0f} MB, so nothing was sent: make room and try again."
        )
    upload = UploadEntry(
        id=tools.make_id(),
        athlete_id=filmed.visit.athlete_id,
        visit_id=visit_id,
        name=choose_name(facts.name, _list_names(tools, visit_id)),
        size_bytes=facts.size_bytes,
        pieces_digest=digest,
        piece_digests="".join(facts.piece_digests),
        shows=facts.shows,
        view=facts.view,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    try:
        tools.entries.add_entries([upload])
    except ConflictError:
        # The same file was begun from another window at the same moment.
        (upload,) = tools.entries.find_entries(UploadEntry, visit_id=visit_id, pieces_digest=digest)
    return find_upload(tools, upload.id)


def find_upload(tools: RecordTools, upload_id: str) -> UploadState:
    """Return how far an upload is; raises `RecordError` where there is none of that id."""
    uploads = tools.entries.find_entries(UploadEntry, id=upload_id)
    if not uploads:
        raise RecordError("This upload is not known: begin it again.")
    upload = uploads[0]
    files = tools.entries.find_entries(FileEntry, file_id=_name_file(upload))
    count = -(-upload.size_bytes // PIECE_BYTES)
    received = upload.size_bytes if files else tools.uploads.find_received(_name_file(upload), upload.size_bytes)
    return UploadState(
        upload=upload,
        received_count=count if received == upload.size_bytes else received // PIECE_BYTES,
        piece_count=count,
        file=files[0] if files else ABSENT,
    )


def store_piece(tools: RecordTools, upload_id: str, number: int, piece: bytes) -> UploadState:
    """Keep piece `number` (from 0); a piece that is kept already changes nothing.

    Raises `ConflictError` for a piece of another file or one that comes too early; what was kept stays.
    """
    state = find_upload(tools, upload_id)
    upload = state.upload
    if not 0 <= number < state.piece_count:
        raise RecordError(f"The file has {state.piece_count} pieces: send one of them.")
    wanted = upload.piece_digests[number * DIGEST_LETTERS : (number + 1) * DIGEST_LETTERS]
    if hashlib.sha256(piece).hexdigest() != wanted:
        raise ConflictError(
            f"Piece {number + 1} is not that of the file whose upload was begun: choose the same file again, or add "
            "this one as another clip."
        )
    if number > state.received_count:
        raise ConflictError(f"Piece {state.received_count + 1} comes first: send it, then the others.")
    if number < state.received_count:
        return state
    tools.uploads.store_piece(_name_file(upload), upload.size_bytes, number * PIECE_BYTES, piece)
    return find_upload(tools, upload_id)


def finish_upload(tools: RecordTools, upload_id: str, stamp: Stamp) -> FileEntry:
    """Make a clip of the visit of an upload whose pieces are all there, and ask for its check and its proxy.

    May be done again. Raises `ConflictError` while pieces are missing, `ConsentError` where consent ended meanwhile.
    """
    state = find_upload(tools, upload_id)
    if state.received_count < state.piece_count:
        raise ConflictError(f"Piece {state.received_count + 1} is still missing: send it.")
    filmed = get_filmed_visit(tools, state.upload.visit_id)
    check_filming_consent(tools, state.upload.athlete_id, stamp.at.date())
    file = state.file
    if isinstance(file, Absent):
        stored = tools.uploads.finish_file(_name_file(state.upload), state.upload.size_bytes)
        file = _add_clip(tools, state.upload, stored, stamp)
    add_clip_jobs(tools, filmed, file, state.upload.shows, stamp)
    return file


def cancel_upload(tools: RecordTools, upload_id: str) -> None:
    """Remove what arrived of an upload that is not finished; raises `ConflictError` for a finished one."""
    state = find_upload(tools, upload_id)
    if not isinstance(state.file, Absent):
        raise ConflictError("The clip has arrived already: leave it out of the screening instead.")
    tools.uploads.remove_upload(_name_file(state.upload))


def add_clip_jobs(tools: RecordTools, filmed: FilmedVisit, file: FileEntry, shows: Shows, stamp: Stamp) -> None:
    """Ask for the check of a clip of throws, and for its proxy."""
    if shows is not Shows.THROWS:
        return
    for kind, version in ((JobKind.CHECK, CHECK_VERSION), (JobKind.PROXY, PROXY_VERSION)):
        inputs, size = (file.digest, version), file.size_bytes
        wish = JobWish(kind=kind, visit=filmed.visit, subject_id=file.id, inputs=inputs, work_bytes=size)
        add_job(tools, wish, stamp)


def add_proxy_jobs(tools: RecordTools, visit_id: str, stamp: Stamp) -> int:
    """Ask for the proxy of every clip of a kept visit that has none yet; returns how many were asked for.

    Raises `RecordError` where there is no such visit.
    """
    visits = tools.entries.find_entries(VisitEntry, id=visit_id)
    if not visits:
        raise RecordError(f"There is no visit {visit_id!r} in the record: `elbowroom record show` names them.")
    made = {proxy.clip_file_entry_id for proxy in tools.entries.find_entries(ProxyEntry, visit_id=visit_id)}
    clips = tools.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.CLIP))
    wanted = [clip for clip in clips if clip.id not in made]
    for clip in wanted:
        inputs, size = (clip.digest, PROXY_VERSION), clip.size_bytes
        wish = JobWish(kind=JobKind.PROXY, visit=visits[0], subject_id=clip.id, inputs=inputs, work_bytes=size)
        add_job(tools, wish, stamp)
    return len(wanted)


def check_upload(facts: UploadFacts) -> None:
    """Raise `RecordError` where a file cannot be taken in."""
    if not 0 < facts.size_bytes <= MOST_BYTES:
        raise RecordError(
            f"A clip of {facts.size_bytes / 1e6:.0f} MB is not taken in: send one of 1 byte to {MOST_BYTES / 1e9:.0f} "
            "GB, the phone's own file."
        )
    is_digest = all(re.fullmatch(r"[0-9a-f]{64}", digest) for digest in facts.piece_digests)
    if len(facts.piece_digests) != -(-facts.size_bytes // PIECE_BYTES) or not is_digest:
        raise RecordError("The digests do not fit the size of the file: load the page again and choose the file anew.")


def choose_name(name: str, taken: tuple[str, ...]) -> str:
    """Return a name that is plain and alone in its visit: phones call their clips alike."""
    bare = re.split(r"[/\\]", name)[-1]
    plain = "".join(letter for letter in bare if letter.isprintable()).strip(". ")[-LONGEST_NAME:] or "clip"
    stem, dot, ending = plain.rpartition(".")
    names = (plain, *(f"{stem or ending} ({number}){dot}{ending if stem else ''}" for number in range(2, 1000)))
    return next(one for one in names if one.casefold() not in taken)


def _list_names(tools: RecordTools, visit_id: str) -> tuple[str, ...]:
    uploads = tools.entries.find_entries(UploadEntry, visit_id=visit_id)
    return tuple(upload.name.casefold() for upload in uploads)


def _name_file(upload: UploadEntry) -> str:
    return f"{upload.athlete_id}/{upload.id}"


def _add_clip(tools: RecordTools, upload: UploadEntry, stored: StoredFile, stamp: Stamp) -> FileEntry:
    """Add the entries of a clip at once; of clips that arrive together each takes its turn."""
    for _ in range(TRIES):
        entries = _build_clip(tools, upload, stored, stamp)
        try:
            tools.entries.add_entries(entries)
        except ConflictError:
            known = tools.entries.find_entries(FileEntry, id=upload.id)
            if known:
                return known[0]
            continue
        return next(entry for entry in entries if isinstance(entry, FileEntry))
    raise ConflictError("Too many clips arrive at once: send the last one's end again.")


def _build_clip(tools: RecordTools, upload: UploadEntry, stored: StoredFile, stamp: Stamp) -> list[Entry]:
    of: dict[str, Any] = {"athlete_id": upload.athlete_id, "visit_id": upload.visit_id}
    recorded: dict[str, Any] = {"recorded_at": stamp.at, "recorded_by": stamp.by}
    is_board = upload.shows is Shows.BOARD
    kind = FileKind.BOARD_CLIP if is_board else FileKind.CLIP
    # The entry carries the name of the upload, so that it can be added only once.
    file = FileEntry(id=upload.id, kind=kind, name=upload.name, **vars(stored), **of, **recorded)
    versions = [item.version for item in tools.entries.find_entries(FilmedClipEntry, visit_id=upload.visit_id)]
    known = FilmedClipEntry(
        id=tools.make_id(),
        file_entry_id=file.id,
        version=1 + max(versions, default=0),
        shows=upload.shows,
        view=upload.view,
        rate_hz=ABSENT,
        thrower=ABSENT,
        marks="{}",
        is_used=True,
        **of,
        **recorded,
    )
    clip = [] if is_board else [ClipEntry(id=tools.make_id(), file_entry_id=file.id, view=upload.view, **of)]
    act = note_act(tools, stamp, Act.ADDED, upload.athlete_id, f"visit {upload.visit_id}, clip {file.id}")
    return [file, *clip, known, act]
