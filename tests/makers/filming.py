"""An invented visit that is filmed here, and workers' tools whose slow parts are quick doubles."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from elbowroom.adapters.vault.safe_files import write_safely
from elbowroom.adapters.visit_files.filmed import render_visit_file
from elbowroom.core.cameras.types import View
from elbowroom.core.measures.types import ThrowKind
from elbowroom.service.check_types import CheckLine, CheckWish
from elbowroom.service.filming import GroundFacts, begin_visit, describe_visit, get_filmed_visit
from elbowroom.service.filming_types import Shows
from elbowroom.service.landmarking import Progress
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, FileKind
from elbowroom.service.record_values import ParcelFile, Stamp, VisitParcel
from elbowroom.service.uploading import PIECE_BYTES, UploadFacts, begin_upload, finish_upload, store_piece
from elbowroom.service.visit_plan import BoardSize
from elbowroom.service.work_tools import WorkTools
from tests.makers.record import STAMP, make_report

GROUND = GroundFacts(target_m=14.0, board_size=BoardSize.LARGE, tape_m=0.0, mass_kg=ABSENT)


def split_pieces(content: bytes) -> list[bytes]:
    """Return a file in pieces."""
    return [content[start : start + PIECE_BYTES] for start in range(0, len(content), PIECE_BYTES)]


def make_facts(
    content: bytes, name: str = "clip.mp4", view: View = View.BEHIND, shows: Shows = Shows.THROWS
) -> UploadFacts:
    """Return what a browser says of a file before it sends it."""
    digests = tuple(hashlib.sha256(piece).hexdigest() for piece in split_pieces(content))
    return UploadFacts(name=name, size_bytes=len(content), piece_digests=digests, shows=shows, view=view)


def begin_filmed(tools: RecordTools, athlete_id: str, stamp: Stamp = STAMP) -> str:
    """Begin a visit and return its id."""
    return begin_visit(tools, athlete_id, 1.5, ThrowKind.MOUND_PITCH, GROUND, stamp)


def send_clip(tools: RecordTools, visit_id: str, content: bytes, facts: UploadFacts | None = None) -> FileEntry:
    """Send a whole clip."""
    state = begin_upload(tools, visit_id, facts or make_facts(content), STAMP)
    for number, piece in enumerate(split_pieces(content)):
        store_piece(tools, state.upload.id, number, piece)
    return finish_upload(tools, state.upload.id, STAMP)


def send_two_views(tools: RecordTools, visit_id: str, size: int = 3000) -> list[FileEntry]:
    """Send a clip from behind and one from the open side, whose pictures are noise."""
    views = (View.BEHIND, View.OPEN_SIDE)
    contents = [f"{visit_id} {view} ".encode() * (size // 40) for view in views]
    return [
        send_clip(tools, visit_id, content, make_facts(content, f"{view}.mp4", view))
        for view, content in zip(views, contents, strict=True)
    ]


def make_work_tools(record: RecordTools, value_deg: float = -7.0) -> WorkTools:
    """Return tools of which the landmark stage is a double: it reads the clips and makes a report out of nothing."""

    def screen(folder: Path, report: Progress) -> VisitParcel:
        clips = sorted(folder.glob("*.mp4"))
        report("reading the clips", 0, len(clips))
        digests = {clip.name: hashlib.sha256(clip.read_bytes()).hexdigest() for clip in clips}
        made_on = STAMP.at.date()
        (folder / "report.json").write_text(json.dumps({"value": value_deg, **digests}), encoding="utf-8")
        (folder / "report.html").write_text(f"<p>{value_deg}</p>", encoding="utf-8")
        kinds = {"visit.toml": FileKind.VISIT_FILE, "report.json": FileKind.REPORT, "report.html": FileKind.PAGE}
        return VisitParcel(
            made_on=made_on,
            height_m=1.5,
            kind="pitch from a mound",
            files=tuple(ParcelFile(path=folder / name, kind=kind, view=ABSENT) for name, kind in kinds.items()),
            report=make_report(digests, value_deg, made_on),
        )

    def make_proxy(source: Path, proxy: Path, times: Path, report: Progress) -> None:
        proxy.write_bytes(source.read_bytes()[::2])
        times.write_text("{}", encoding="utf-8")

    def check_clip(wish: CheckWish, report: Progress) -> tuple[CheckLine, ...]:
        return (CheckLine(what="light", is_good=True, words=f"{wish.path.stat().st_size} bytes of light."),)

    return WorkTools(
        record=record,
        open_folder=open_folder,
        write_file=write_safely,
        screen=screen,
        make_proxy=make_proxy,
        check_clip=check_clip,
        write_visit_file=lambda tools, visit_id: render_visit_file(describe_visit(get_filmed_visit(tools, visit_id))),
        now=lambda: STAMP.at,
    )


def open_folder() -> AbstractContextManager[Path]:
    """Give a folder that is gone at the end."""

    @contextmanager
    def give() -> Iterator[Path]:
        with TemporaryDirectory() as folder:
            yield Path(folder)

    return give()
