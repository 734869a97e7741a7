"""Use cases: looking at what a visit found, and why a number is what it is."""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.types import Finding, PublishedBand, VerdictWord
from elbowroom.errors import DamageError, NotThereError
from elbowroom.service.clinic_tools import ClinicTools, get_screening, get_visit, read_screening
from elbowroom.service.clinic_types import ReviewEntry
from elbowroom.service.record_tools import get_athlete, note_act
from elbowroom.service.record_types import (
    Act,
    AthleteVersion,
    CorrectionEntry,
    FileEntry,
    FileKind,
    FindingEntry,
    ScreeningEntry,
    VisitEntry,
)
from elbowroom.service.record_values import Stamp
from elbowroom.service.report_values import StoredPicture, StoredReport

PLACE_OF_VERDICT = {
    VerdictWord.BEYOND: 0,
    VerdictWord.TOO_CLOSE: 1,
    VerdictWord.WITHIN: 2,
    VerdictWord.NOT_MEASURED: 3,
}
"""In which order findings are listed that have no place in the order of work."""


@dataclass(frozen=True, kw_only=True)
class FindingsSheet:
    """A version of a visit's screening with what stands beside it."""

    athlete: AthleteVersion
    """The athlete as known now."""
    visit: VisitEntry
    """The visit."""
    screening: ScreeningEntry
    """The version that is shown."""
    screenings: tuple[ScreeningEntry, ...]
    """Every version, oldest first."""
    reviews: tuple[ReviewEntry, ...]
    """Who looked through which version."""
    report: StoredReport
    """What the version says."""

    @property
    def is_newest(self) -> bool:
        """Whether no later version stands beside it."""
        return self.screening.version == self.screenings[-1].version


@dataclass(frozen=True, kw_only=True)
class WhySheet:
    """Everything behind one number of a screening."""

    sheet: FindingsSheet
    """The screening."""
    finding: Finding
    """The finding."""
    bands: tuple[PublishedBand, ...]
    """Published values beside it."""
    pictures: tuple[StoredPicture, ...]
    """Pictures of the instant that it belongs to, all key pictures where it belongs to none."""
    versions: tuple[tuple[ScreeningEntry, FindingEntry], ...]
    """The finding in every version of the screening, oldest first."""


def see_findings(clinic: ClinicTools, visit_id: str, version: int, stamp: Stamp) -> FindingsSheet:
    """Return a version of a visit's screening, the newest for 0, and note in the trail that somebody looked.

    Raises `RecordError` where there is none, `DamageError` where its report cannot be read.
    """
    tools = clinic.record
    visit = get_visit(tools, visit_id)
    screening = get_screening(tools, visit_id, version)
    what = f"visit {visit_id}, findings of screening {screening.version}"
    tools.entries.add_entries([note_act(tools, stamp, Act.LOOKED, visit.athlete_id, what)])
    return FindingsSheet(
        athlete=get_athlete(tools, visit.athlete_id),
        visit=visit,
        screening=screening,
        screenings=tools.entries.find_entries(ScreeningEntry, visit_id=visit_id),
        reviews=tools.entries.find_entries(ReviewEntry, visit_id=visit_id),
        report=read_screening(clinic, screening),
    )


def see_why(clinic: ClinicTools, visit_id: str, measure: str, version: int, stamp: Stamp) -> WhySheet:
    """Return everything behind one number; raises `RecordError` where the screening has no such measure."""
    sheet = see_findings(clinic, visit_id, version, stamp)
    found = [item for item in sheet.report.findings if item.definition.key == measure]
    if not found:
        raise NotThereError(f"The screening has no measure {measure!r}: choose one of its findings.")
    return WhySheet(
        sheet=sheet,
        finding=found[0],
        bands=tuple(band for band in sheet.report.bands if band.measure == measure),
        pictures=select_pictures(sheet.report, measure),
        versions=_list_versions(clinic, sheet, measure),
    )


def order_for_reading(report: StoredReport) -> tuple[Finding, ...]:
    """Return the judged findings in the order of work, then those within; what was not judged is left out."""
    places = {item.measure: place for place, item in enumerate(report.priorities)}
    judged = [item for item in report.findings if name_word(item) is not VerdictWord.NOT_MEASURED]
    return tuple(
        sorted(
            judged,
            key=lambda item: (
                places.get(item.definition.key, len(places)),
                PLACE_OF_VERDICT[name_word(item)],
                not item.definition.headline,
            ),
        )
    )


def select_pictures(report: StoredReport, measure: str) -> tuple[StoredPicture, ...]:
    """Return the pictures of the instant that a measure names, all where it names none."""
    named = [item for item in report.pictures if measure.endswith(f"_at_{item.instant.replace(' ', '_')}")]
    return tuple(named) or report.pictures


def read_picture(clinic: ClinicTools, visit_id: str, digest: str) -> bytes:
    """Return a key picture of a visit by its digest; raises `DamageError` where no kept page holds it."""
    files = clinic.record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.PAGE))
    for file in sorted(files, key=lambda item: item.recorded_at, reverse=True):
        page = b"".join(clinic.record.vault.read_range(file.file_id))
        try:
            return clinic.reports.find_picture(page, digest)
        except DamageError:
            continue
    raise DamageError("The record holds no page with this picture: keep the visit again with its report.html.")


def has_pictures(clinic: ClinicTools, visit_id: str) -> bool:
    """Return whether the record holds the key pictures of a visit."""
    return bool(clinic.record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.PAGE)))


def list_corrections(clinic: ClinicTools, visit_id: str) -> tuple[CorrectionEntry, ...]:
    """Return the corrections of a visit, oldest first."""
    return clinic.record.entries.find_entries(CorrectionEntry, visit_id=visit_id)


def name_word(finding: Finding) -> VerdictWord:
    """Return the word of a finding's verdict."""
    return name_verdict(finding.verdict)


def _list_versions(
    clinic: ClinicTools, sheet: FindingsSheet, measure: str
) -> tuple[tuple[ScreeningEntry, FindingEntry], ...]:
    found = clinic.record.entries.find_entries(FindingEntry, athlete_id=sheet.visit.athlete_id, measure=measure)
    by_screening = {item.screening_id: item for item in found}
    return tuple((item, by_screening[item.id]) for item in sheet.screenings if item.id in by_screening)
