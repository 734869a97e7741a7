"""Puts a screened visit together for keeping."""

from __future__ import annotations

from pathlib import Path

from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_types import FileKind
from elbowroom.service.record_values import KeptReport, ParcelFile, VisitParcel
from elbowroom.service.visit_plan import VisitPlan


def build_parcel(
    plan: VisitPlan, visit_file: Path, report_file: Path, report: KeptReport, workings_files: tuple[Path, ...] = ()
) -> VisitParcel:
    """Return the files and facts of a visit; a board clip that serves several clips is taken once.

    The page that lies beside the report goes along where there is one: it alone holds the key pictures.
    """
    boards = {clip.board_path: FileKind.BOARD_CLIP for clip in plan.clips if clip.board_path}
    others = {**boards, visit_file: FileKind.VISIT_FILE, report_file: FileKind.REPORT}
    others |= dict.fromkeys(workings_files, FileKind.WORKINGS)
    page = report_file.with_suffix(".html")
    if page.is_file():
        others[page] = FileKind.PAGE
    clips = [ParcelFile(path=clip.path, kind=FileKind.CLIP, view=clip.view) for clip in plan.clips]
    return VisitParcel(
        made_on=plan.made_on,
        height_m=plan.athlete.height_m,
        kind=str(plan.athlete.kind),
        files=(*clips, *(ParcelFile(path=path, kind=kind, view=ABSENT) for path, kind in others.items())),
        report=report,
    )
