"""One invented entry of every kind about filming."""

from __future__ import annotations

from typing import Any

from elbowroom.core.cameras.types import View
from elbowroom.service.filming_types import (
    ClipCheckEntry,
    FilmedClipEntry,
    ProxyEntry,
    SetUpEntry,
    Shows,
    UploadEntry,
)
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, FileKind, VisitEntry
from elbowroom.service.visit_plan import BoardSize
from tests.makers.record import STAMP


def add_filming_entries(tools: RecordTools, visit: VisitEntry) -> None:
    """Add one entry of every kind about filming a kept visit; files that it keeps stand for proxy and times."""
    (clip, *_) = tools.entries.find_entries(FileEntry, visit_id=visit.id, kind=str(FileKind.CLIP))

    def common() -> dict[str, Any]:
        return {
            "id": tools.make_id(),
            "athlete_id": visit.athlete_id,
            "visit_id": visit.id,
            "recorded_at": STAMP.at,
            "recorded_by": STAMP.by,
        }

    digest, seen = "ab" * 32, {"shows": next(iter(Shows)), "view": View.BEHIND}
    tools.entries.add_entries(
        [
            SetUpEntry(**common(), version=1, target_m=14.0, board_size=BoardSize.LARGE, tape_m=0.0, mass_kg=ABSENT),
            UploadEntry(
                **common(), **seen, name="behind.mp4", size_bytes=9, pieces_digest=digest, piece_digests=digest
            ),
            FilmedClipEntry(
                **common(),
                **seen,
                file_entry_id=clip.id,
                version=1,
                rate_hz=239.76,
                thrower=ABSENT,
                marks="{}",
                is_used=True,
            ),
            ClipCheckEntry(**common(), file_entry_id=clip.id, lines="[]"),
            ProxyEntry(
                **common(), clip_file_entry_id=clip.id, proxy_file_entry_id=clip.id, times_file_entry_id=clip.id
            ),
        ]
    )
