"""The wiring of what is handed out to and taken in from others."""

from __future__ import annotations

import tarfile
from collections.abc import Callable, Collection
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from threadpoolctl import threadpool_limits

from elbowroom.adapters.exchange.health_record import HealthLink
from elbowroom.adapters.exchange.parcel import render_parcel
from elbowroom.adapters.exchange.reading import build_handed_visit, read_handed_visit
from elbowroom.adapters.exchange.recordings import read_points
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.results.digests import digest_file
from elbowroom.adapters.results.folders import write_results
from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.adapters.tables.tolerances import find_tolerances_digest, read_tolerances
from elbowroom.adapters.vault.archives import FileArchives, render_zip
from elbowroom.adapters.vault.passing import open_passing_folder
from elbowroom.adapters.vault.safe_files import place_folder
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.video.covering import write_covered_clip
from elbowroom.adapters.visit_files.captures import read_capture
from elbowroom.bootstrap import find_landmark_tables, list_library_versions
from elbowroom.core.chain.judging import JudgeTables
from elbowroom.core.findings.report import MadeWith, ScreeningReport
from elbowroom.core.findings.types import DecisionRule
from elbowroom.core.measures.registry import MEASURES
from elbowroom.errors import PassphraseError, RecordError, ResultError
from elbowroom.service import archives
from elbowroom.service.archive_ports import ArchiveItem
from elbowroom.service.captures import CaptureTools, judge_capture
from elbowroom.service.faceless import (
    FacelessPlan,
    FacelessTools,
    HiddenClip,
    write_faceless,
    write_visit_faceless,
)
from elbowroom.service.handing_data import make_data
from elbowroom.service.landmarking import Progress
from elbowroom.service.method import list_method_parts
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Purpose, VisitEntry
from elbowroom.service.record_values import Stamp
from elbowroom.settings import RecordSettings, Settings

Notice = Callable[[str], None]
"""Called with a line for the person who waits."""
EXPORT_NAMES = ("*.csv", "*.parquet", "throw-*.c3d", "health-record.json", "about.json")
"""Patterns of the files of an export: a folder that holds anything else is never replaced."""


@dataclass(frozen=True, kw_only=True)
class HandOut:
    """How a screening is handed out."""

    code: str
    """What stands for the athlete."""
    formats: Collection[str]
    """Formats wanted: csv, parquet, c3d, fhir."""
    patient: str
    """Reference for the health record; empty for none."""
    made_at: datetime
    """When it is handed out."""


def render_export(content: bytes, wanted: HandOut) -> dict[str, bytes]:
    """Return file name -> content of an export of a report's bytes; raises `ResultError`."""
    link = HealthLink(patient=wanted.patient, made_at=wanted.made_at)
    return render_parcel(build_handed_visit(content, check_code(wanted.code)), wanted.formats, link)


def make_data_file(record: RecordTools, visit_id: str, purpose: Purpose, wanted: HandOut, stamp: Stamp) -> bytes:
    """Return the data of a kept visit as one ZIP file; raises `RecordError`, `ConsentError` or `ResultError`."""
    files = make_data(record, visit_id, purpose, lambda content: render_export(content, wanted), stamp)
    return b"".join(render_zip(ArchiveItem(name=name, pieces=[files[name]]) for name in sorted(files)))


def write_export(report: Path, folder: Path, wanted: HandOut, *, may_replace: bool) -> tuple[str, ...]:
    """Write an export of report.json (or its folder), whole or not at all; returns the names of its files.

    Raises `ResultError`.
    """
    path = report / "report.json" if report.is_dir() else report
    visit = read_handed_visit(path, check_code(wanted.code))
    files = render_parcel(visit, wanted.formats, HealthLink(patient=wanted.patient, made_at=wanted.made_at))
    write_results(folder, files, may_replace, EXPORT_NAMES)
    return tuple(sorted(files))


def check_code(code: str) -> str:
    """Return a code that can stand in every format; raises `ResultError` where it cannot."""
    if not code.isascii() or not code.isprintable() or not 0 < len(code.strip()) <= 40:
        raise ResultError("The code is empty, too long or has strange letters: use up to 40 plain letters and digits.")
    return code.strip()


def judge_capture_file(path: Path) -> ScreeningReport:
    """Return the report of the recordings that a capture file names; raises `VisitError` or `ScreeningError`."""
    plan = read_capture(path)
    units = {measure.key: measure.unit for measure in MEASURES}
    tables = find_landmark_tables()
    tolerances_digest = find_tolerances_digest(plan.tolerances_path)
    tools = CaptureTools(
        read_points=read_points,
        digest_file=digest_file,
        landmark_tables=tables,
        judge_tables=JudgeTables(
            tolerances=read_tolerances(plan.tolerances_path, units), bands=read_published_bands(), rule=DecisionRule()
        ),
        load_tables=read_load_tables(),
        method=list_method_parts(tables),
        made_with=(*list_library_versions(), MadeWith(name="tolerances, own", version=tolerances_digest)),
    )
    with threadpool_limits(limits=1):
        return judge_capture(plan, tools)


def write_athlete_archive(
    tools: RecordTools, athlete_id: str, path: Path, passphrase: str, stamp: Stamp
) -> archives.ArchiveFacts:
    """Write the whole record of an athlete to one archive; sealed unless the passphrase is empty."""
    return archives.write_athlete_archive(tools, FileArchives(), athlete_id, path, passphrase, stamp)


def take_athlete(tools: RecordTools, path: Path, passphrase: str, stamp: Stamp) -> archives.ArchiveFacts:
    """Take an athlete's archive into a record, all of it or nothing."""
    return archives.take_athlete(tools, FileArchives(), path, passphrase, stamp)


def write_faceless_clip(source: Path, target: Path, settings: Settings, notice: Notice, report: Progress) -> HiddenClip:
    """Write a copy of a clip with every head hidden; raises `ClipError` or `ResultError`."""
    if target.exists():
        raise ResultError(f"{target} is there already: choose another name.")
    return write_faceless(source, target, build_faceless_tools(settings, notice), report)


def write_faceless_visit(
    record: RecordTools, visit_id: str, plan: FacelessPlan, settings: Settings, progress: tuple[Notice, Progress]
) -> dict[str, HiddenClip]:
    """Write the clips of a kept visit with every head hidden; raises a subclass of `ElbowroomError`."""
    check_code(plan.code)
    found = record.entries.find_entries(VisitEntry, id=visit_id)
    if not found:
        raise RecordError(f"There is no visit {visit_id!r}: `elbowroom record show ATHLETE` names them.")
    return write_visit_faceless(record, found[0], plan, build_faceless_tools(settings, progress[0]), progress[1])


def build_faceless_tools(settings: Settings, notice: Notice) -> FacelessTools:
    """Return what hiding faces needs from outside."""
    return FacelessTools(
        detector=LandmarkModel(settings.models_folder, cores=settings.core_count, report=notice),
        open_clip=read_clip,
        write_clip=write_covered_clip,
        place_folder=place_folder,
    )


def find_passing_folder(settings: RecordSettings) -> Callable[[], AbstractContextManager[Path]]:
    """Return what gives a folder for plain files beside a record; it is overwritten and removed at the end."""
    return lambda: open_passing_folder(settings.folder)


def is_sealed(path: Path) -> bool:
    """Say whether an archive needs a passphrase; an unreadable one does not."""
    try:
        return tarfile.is_tarfile(path)
    except OSError:
        return False


def read_seal(path: Path | None) -> str:
    """Return the passphrase in a text file, or nothing without one; raises `PassphraseError`."""
    if path is None:
        return ""
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as e:
        raise PassphraseError(f"{path} cannot be read: name a text file.") from e
