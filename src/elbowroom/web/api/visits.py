"""Visits, their screenings and findings."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path

from elbowroom.errors import ConflictError
from elbowroom.service.clinic_tools import get_screening, get_visit
from elbowroom.service.clinic_types import ReviewEntry
from elbowroom.service.days import add_review as keep_review
from elbowroom.service.findings import see_findings, see_why
from elbowroom.service.record_types import ScreeningEntry
from elbowroom.service.rejudging import judge_kept_visit
from elbowroom.web.api import models, views
from elbowroom.web.api.asking import Deciders, Readers
from elbowroom.web.asking import note_look
from elbowroom.web.clinic import find_clinic

router = APIRouter(prefix="/visits/{visit_id}", tags=["visits"])
Number = Annotated[int, Path(ge=0, le=1_000_000, description="Version of the screening; 0 for the newest.")]


@router.get("")
def show_visit(asker: Readers, visit_id: models.Id) -> models.Visit:
    """A visit with what its newest screening came to."""
    visit = get_visit(asker.record, visit_id)
    note_look(asker, visit.athlete_id, f"visit {visit_id}")
    lines = asker.record.days.list_athlete_visits(visit.athlete_id)
    return next(views.view_visit(line) for line in lines if line.visit_id == visit_id)


@router.get("/screenings")
def list_screenings(asker: Readers, visit_id: models.Id) -> list[models.Screening]:
    """Every version of a visit's screening, oldest first."""
    visit = get_visit(asker.record, visit_id)
    note_look(asker, visit.athlete_id, f"visit {visit_id}, screenings")
    reviewed = {
        item.reviewed_screening_id for item in asker.record.entries.find_entries(ReviewEntry, visit_id=visit_id)
    }
    found = asker.record.entries.find_entries(ScreeningEntry, visit_id=visit_id)
    return [views.view_screening(item, is_reviewed=item.id in reviewed) for item in found]


@router.get("/screenings/{version}")
def show_findings(asker: Readers, visit_id: models.Id, version: Number) -> models.Findings:
    """What a version of a screening found."""
    return views.view_findings(see_findings(find_clinic(asker), visit_id, version, asker.stamp))


@router.get("/screenings/{version}/report")
def show_report(asker: Readers, visit_id: models.Id, version: Number) -> dict[str, Any]:
    """The whole report of a version as it was written; its schema is that of `elbowroom schema`."""
    return dict(see_findings(find_clinic(asker), visit_id, version, asker.stamp).report.content)


@router.get("/screenings/{version}/findings/{measure}")
def show_finding(asker: Readers, visit_id: models.Id, version: Number, measure: models.Measure) -> models.Finding:
    """One finding of a version."""
    return views.view_finding(see_why(find_clinic(asker), visit_id, measure, version, asker.stamp).finding)


@router.post("/judgements", status_code=201)
def add_judgement(asker: Deciders, visit_id: models.Id) -> models.Judged:
    """Judge the newest screening by the limits and the rule that hold now; the numbers and older verdicts stay."""
    kept = judge_kept_visit(find_clinic(asker), visit_id, asker.stamp)
    return models.Judged(version=kept.version, is_new=kept.is_new)


@router.post("/reviews", status_code=201)
def add_review(asker: Deciders, visit_id: models.Id, new: models.NewReview) -> models.Screening:
    """Note that a clinician looked through the newest version of the screening."""
    get_visit(asker.record, visit_id)
    screening = get_screening(asker.record, visit_id)
    if screening.version != new.version:
        raise ConflictError(f"Version {screening.version} of this screening is the newest: look through that one.")
    keep_review(asker.record, screening.id, new.note, asker.stamp)
    return views.view_screening(screening, is_reviewed=True)
