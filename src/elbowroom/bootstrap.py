"""The only wiring: which adapters stand behind the use cases that commands and pages call."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import date
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from uuid import uuid4

from threadpoolctl import threadpool_limits

from elbowroom import __version__
from elbowroom.adapters.boards.board import BOARDS, LARGE, MIDDLE, SMALL, Board
from elbowroom.adapters.boards.field_sizes import read_field_sizes
from elbowroom.adapters.boards.print import render_sheet
from elbowroom.adapters.boards.set_up import BoardAndMarkFinder
from elbowroom.adapters.landmark_model.converted import prepare_model
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.landmark_model.sources import WeightName
from elbowroom.adapters.landmark_model.weights import fetch_weights, has_weight
from elbowroom.adapters.machine.facts import MachineFact, list_machine_facts
from elbowroom.adapters.record.databases import (
    DATABASE_NAME,
    change_file_key,
    open_sealed_file,
    open_server,
)
from elbowroom.adapters.record.day_lists import DatabaseDayLists
from elbowroom.adapters.record.entries import DatabaseEntries
from elbowroom.adapters.record.jobs import DatabaseJobs
from elbowroom.adapters.record.lists import DatabaseLists
from elbowroom.adapters.record.migrating import apply_migrations
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.json_file import read_report_schema, render_report_json
from elbowroom.adapters.report.kept import read_kept_report
from elbowroom.adapters.report.skeleton import SkeletonDrawer
from elbowroom.adapters.results.digests import digest_file
from elbowroom.adapters.results.folders import check_results_folder, write_results, write_whole_file
from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.adapters.tables.landmark_tables import read_landmark_tables
from elbowroom.adapters.tables.loads import BALLS, SEGMENTS, read_load_tables
from elbowroom.adapters.tables.rows import find_table_digest, read_table_text
from elbowroom.adapters.tables.tolerances import PACKAGED_TOLERANCES, find_tolerances_digest, read_tolerances
from elbowroom.adapters.vault.backups import FolderShelf, read_backup_keys, read_backup_ring
from elbowroom.adapters.vault.files import FolderVault
from elbowroom.adapters.vault.ring import RING_NAME, KeyRing, make_ring, read_ring, store_ring
from elbowroom.adapters.vault.safe_files import place_folder, write_safely
from elbowroom.adapters.vault.uploads import FolderUploads
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.visit_files import writing
from elbowroom.adapters.visit_files.reading import read_visit
from elbowroom.adapters.workings.files import render_workings
from elbowroom.core.chain.judging import JudgeTables
from elbowroom.core.chain.workings import Workings
from elbowroom.core.findings.report import MadeWith, ScreeningReport
from elbowroom.core.findings.types import DecisionRule
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.errors import RecordError, VisitError
from elbowroom.service.backing_up import restore_record
from elbowroom.service.landmarking import Progress
from elbowroom.service.method import list_method_parts
from elbowroom.service.parcels import build_parcel
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import ClinicEntry
from elbowroom.service.record_values import BackupFacts, VisitParcel
from elbowroom.service.screening import ScreeningTools, screen_with_workings
from elbowroom.service.summary import describe_report
from elbowroom.service.visit_plan import VisitPlan
from elbowroom.settings import RecordSettings, Settings

USED_WEIGHTS: tuple[WeightName, ...] = ("detector", "lite", "heavy")
"""Networks that a screening uses."""
BOARD_OF_PAPER: dict[str, Board] = {"poster": LARGE, "a3": MIDDLE, "a4": SMALL, "letter": SMALL}
"""The largest board that fits on each sheet."""
PAGE_NAME, DATA_NAME, WORKINGS_NAME = "report.html", "report.json", "workings.npz"
"""Files of a report, the last one for corrections."""
LIBRARIES = ("numpy", "scipy", "av", "onnxruntime", "opencv-python-headless")
"""Libraries whose version the numbers depend on."""
Notice = Callable[[str], None]
"""Called with a line for the person who waits, such as a download that begins."""
Screening = Callable[[Path, Progress], ScreeningReport]
"""Screens the visit that a folder or visit file describes; raises a subclass of `ElbowroomError`."""

OwnLimits = tuple[JudgeTables, MadeWith]
"""Limits and rule to judge by, and the name and digest of their table."""


def build_screening(
    settings: Settings,
    notice: Notice,
    keep_workings: Callable[[Workings], None] = lambda workings: None,
    own: OwnLimits | None = None,
) -> Screening:
    """Return the main use case with its adapters; nothing is read or fetched before it is called.

    `keep_workings` is given the workings of each screening, which a correction needs later. `own` are the limits and
    the rule of a clinic, which hold where the visit file names no table.
    """

    def screen_file(path: Path, report: Progress) -> ScreeningReport:
        plan = read_visit(path, read_field_sizes())
        # The matrices are small: with a thread for each core the same work takes several times as long.
        with threadpool_limits(limits=1):
            screened = screen_with_workings(plan, build_tools(plan, settings, notice, own), report)
        keep_workings(screened.workings)
        return screened.report

    return screen_file


def build_tools(plan: VisitPlan, settings: Settings, notice: Notice, own: OwnLimits | None = None) -> ScreeningTools:
    """Return what a screening of one visit needs from outside; raises `TableError` and `WeightsError`."""
    judge_tables, table = own if own and not plan.tolerances_path else read_judge_tables(plan.tolerances_path)
    detector = LandmarkModel(settings.models_folder, cores=settings.core_count, report=notice)
    tables = find_landmark_tables()
    return ScreeningTools(
        open_clip=read_clip,
        digest_file=digest_file,
        detector=detector,
        find_cameras=BoardAndMarkFinder(read_clip, BOARDS[plan.board_size]),
        drawer=SkeletonDrawer(),
        landmark_tables=tables,
        bone_shares=read_bone_shares(),
        judge_tables=judge_tables,
        load_tables=read_load_tables(),
        method=list_method_parts(tables),
        made_with=list_versions(detector, tables, table),
    )


def find_landmark_tables() -> LandmarkTables:
    """Return the fitted tables of the large landmark model, or the provisional ones where none is packaged."""
    is_packaged = files("elbowroom.tables").joinpath("landmark_model_large.json").is_file()
    return read_landmark_tables("large") if is_packaged else build_provisional_tables()


def read_judge_tables(path: Path | None) -> OwnLimits:
    """Return limits, bands and rule of a table, the packaged one for None, with its name and digest."""
    tolerances = read_tolerances(path, {measure.key: measure.unit for measure in MEASURES})
    name = path.name if path else PACKAGED_TOLERANCES
    table = MadeWith(name=f"tolerances, {name}", version=find_tolerances_digest(path))
    return JudgeTables(tolerances=tolerances, bands=read_published_bands(), rule=DecisionRule()), table


def list_versions(detector: LandmarkModel, tables: LandmarkTables, table: MadeWith) -> tuple[MadeWith, ...]:
    """Return versions and digests of everything that the numbers depend on; `table` is that of the limits."""
    own, *others = list_library_versions()
    return (
        own,
        MadeWith(name="light landmark model", version=detector.name_version("light")),
        MadeWith(name="large landmark model", version=detector.name_version("large")),
        MadeWith(name="landmark errors", version=tables.name),
        table,
        *others,
    )


def list_library_versions() -> tuple[MadeWith, ...]:
    """Return the versions of elbowroom, of its body tables and of the libraries that numbers depend on."""
    return (
        MadeWith(name="elbowroom", version=__version__),
        *(MadeWith(name=table, version=find_table_digest(None, table)) for table in (SEGMENTS, BALLS)),
        *(MadeWith(name=library, version=version(library)) for library in LIBRARIES),
    )


def find_demo_folder() -> Path:
    """Return the folder of the demo visit beside the package's checkout; raises `VisitError` where it is missing."""
    folder = Path(__file__).resolve().parents[2] / "demo"
    if not (folder / "visit.toml").is_file():
        raise VisitError(
            "The demo visit is not there: it comes with the checkout of elbowroom, not with an installed copy, so run "
            "`python3 run.py demo` in the checkout."
        )
    return folder


def check_report_folder(folder: Path, *, may_replace: bool) -> None:
    """Raise `ResultError` where a report cannot be written to a folder, before any work is done."""
    check_results_folder(folder, may_replace)


def write_report(screening: ScreeningReport, folder: Path, units: str, *, may_replace: bool) -> Path:
    """Write a report's page and data to a folder, whole or not at all, and return the page's path.

    Raises `ResultError` where that cannot be done.
    """
    files = {PAGE_NAME: render_report_html(screening, LengthUnit(units)), DATA_NAME: render_report_json(screening)}
    write_results(folder, files, may_replace)
    return folder / PAGE_NAME


def write_workings(workings: Workings, folder: Path) -> None:
    """Write the workings of a screening beside its report; raises `ResultError`."""
    write_whole_file(folder / WORKINGS_NAME, render_workings(workings), may_replace=True)


def describe_screening(screening: ScreeningReport, units: str) -> tuple[str, ...]:
    """Return a screening in a few lines for the person at the screen."""
    return describe_report(screening, LengthUnit(units))


def write_board(path: Path, paper: str, *, may_replace: bool) -> str:
    """Write the board for a sheet as PDF and return a sentence about it; raises `ResultError` or `SetUpError`."""
    board = BOARD_OF_PAPER[paper]
    write_whole_file(path, render_sheet(board, paper, "pdf"), may_replace)
    square = 1000 * board.square_m
    return f'The board is in {path}, squares of {square:g} mm; a visit file calls it board_size = "{board.name}".'


def prepare_weights(settings: Settings, archives: Sequence[Path], notice: Notice) -> Path:
    """Fetch, check and convert all weights and return their folder; raises `WeightsError`."""
    fetch_weights(USED_WEIGHTS, settings.models_folder, archives=archives, report=notice)
    for name in USED_WEIGHTS:
        prepare_model(name, settings.models_folder, report=notice)
    return settings.models_folder


def list_facts(settings: Settings) -> tuple[MachineFact, ...]:
    """Return the facts about the machine, the weights last; each with what to do where something is missing."""
    missing = [name for name in USED_WEIGHTS if not has_weight(settings.models_folder, name)]
    weights = MachineFact(
        what="landmark weights",
        found=f"{', '.join(missing)} not in {settings.models_folder}" if missing else f"in {settings.models_folder}",
        remedy="run `elbowroom weights`" if missing else "",
    )
    return (*list_machine_facts(settings.core_count, settings.models_folder), weights)


def write_tolerances(path: Path, *, may_replace: bool) -> None:
    """Write the packaged tolerance table to a file; raises `ResultError`."""
    write_whole_file(path, read_table_text(None, PACKAGED_TOLERANCES).encode("utf-8"), may_replace)


def render_schema() -> str:
    """Return the JSON Schema of the report as text."""
    return json.dumps(read_report_schema(), ensure_ascii=False, indent=1)


def write_first_visit(folder: Path, day: date) -> tuple[Path, int]:
    """Write a first visit file for the clips in a folder; returns its path and the number of clips."""
    return writing.write_first_visit(folder, day)


def begin_record(settings: RecordSettings, passphrase: str) -> RecordTools:
    """Make an empty record with new keys, or go on with one whose beginning was cut off.

    Raises `RecordError` where a record is there already.
    """
    if not (settings.folder / RING_NAME).exists():
        store_ring(make_ring(), settings.folder / RING_NAME, passphrase)
    tools = _build_record(settings.folder, settings.address, read_ring(settings.folder / RING_NAME, passphrase))
    if tools.entries.find_entries(ClinicEntry):
        raise RecordError(f"There is a record already in {settings.folder}: set ELBOWROOM_RECORD to another place.")
    return tools


def open_record(settings: RecordSettings, passphrase: str) -> RecordTools:
    """Open the record; raises `PassphraseError`, `DamageError` or `RecordError`."""
    ring = read_ring(settings.folder / RING_NAME, passphrase)
    tools = _build_record(settings.folder, settings.address, ring)
    if not tools.entries.find_entries(ClinicEntry):
        raise RecordError("The record was never begun to its end: run `elbowroom record begin`.")
    return tools


def restore_backup(settings: RecordSettings, passphrase: str, path: Path) -> BackupFacts:
    """Put a backup where no record is; the folder of keys and files appears whole or not at all."""
    if (settings.folder / RING_NAME).exists():
        raise RecordError(f"There is a record already in {settings.folder}: set ELBOWROOM_RECORD to another place.")
    ring = read_backup_ring(path, passphrase)
    with place_folder(settings.folder) as part:
        write_safely(part / RING_NAME, [read_backup_keys(path)])
        tools = _build_record(part, settings.address, ring)
        if tools.entries.find_entries(ClinicEntry):
            raise RecordError("The database holds a record already: name an empty one in ELBOWROOM_RECORD.")
        return restore_record(tools, path)


def change_passphrase(settings: RecordSettings, passphrase: str, new_passphrase: str) -> None:
    """Seal the keys under a new passphrase; no file is written anew. Raises `PassphraseError` or `RecordError`."""
    path = settings.folder / RING_NAME
    store_ring(read_ring(path, passphrase), path, new_passphrase)


def change_keys(settings: RecordSettings, passphrase: str) -> int:
    """Seal database and files under a new key and drop the old ones; returns how many files.

    May be cut off and run again: both keys are in the ring until all is done.
    """
    path = settings.folder / RING_NAME
    ring = read_ring(path, passphrase)
    if len(ring.keys) == 1:
        ring = ring.add_key()
        store_ring(ring, path, passphrase)
    if not settings.address:
        engine = open_sealed_file(settings.folder / DATABASE_NAME, ring.list_database_keys())
        change_file_key(engine, ring.list_database_keys()[0])
    count = FolderVault(settings.folder, ring.keys).seal_anew()
    store_ring(ring.remove_old(), path, passphrase)
    return count


def write_certificate(path: Path, text: str) -> None:
    """Write the certificate of a forgotten athlete; raises `ResultError`."""
    write_whole_file(path, text.encode("utf-8"))


def read_parcel(visit: Path, report: Path) -> VisitParcel:
    """Read a screened visit and its report, to be kept; raises `VisitError` or `RecordError`."""
    visit_file = visit / "visit.toml" if visit.is_dir() else visit
    beside = report.with_name(WORKINGS_NAME)
    workings = (beside,) if beside.is_file() else ()
    return build_parcel(read_visit(visit, read_field_sizes()), visit_file, report, read_kept_report(report), workings)


def _build_record(folder: Path, address: str, ring: KeyRing) -> RecordTools:
    engine = open_server(address) if address else open_sealed_file(folder / DATABASE_NAME, ring.list_database_keys())
    apply_migrations(engine)
    return RecordTools(
        entries=DatabaseEntries(engine),
        lists=DatabaseLists(engine),
        days=DatabaseDayLists(engine),
        vault=FolderVault(folder, ring.keys),
        shelf=FolderShelf(folder, ring.keys),
        jobs=DatabaseJobs(engine),
        uploads=FolderUploads(folder, ring.keys),
        make_id=lambda: uuid4().hex,
    )
