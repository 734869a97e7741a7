"""The clinic's limits, settings, work and trail."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query

from elbowroom.core.findings.types import DecisionRule
from elbowroom.service import clinic_settings
from elbowroom.service.tolerances import LimitChange, change_limits, see_tolerances
from elbowroom.service.trail import list_trail_lines
from elbowroom.web.api import models, views
from elbowroom.web.api.asking import AllReaders, Clinicians, Deciders, Readers
from elbowroom.web.api.paging import Count, Skipped, build_page
from elbowroom.web.asking import Asker, note_look
from elbowroom.web.clinic import find_clinic

router = APIRouter(tags=["clinic"])


@router.get("/tolerances")
def show_tolerances(asker: Readers) -> models.LimitTable:
    """The limits that hold, each with its source."""
    return views.view_table(see_tolerances(find_clinic(asker)))


@router.get("/tolerance-versions")
def list_tolerance_versions(asker: Readers) -> list[models.TableVersion]:
    """Every version of the clinic's own limits, oldest first; empty while the packaged table holds."""
    return [
        models.TableVersion(
            version=item.version,
            changed=item.changed,
            reason=item.reason,
            recorded_at=item.recorded_at,
            recorded_by=item.recorded_by,
        )
        for item in see_tolerances(find_clinic(asker)).history
    ]


@router.put("/tolerances/{place}")
def change_row(
    asker: Deciders, place: Annotated[int, Path(ge=0, le=10_000)], new: models.NewLimits
) -> models.LimitTable:
    """Change one row of the limits, as a new version of the table; kept screenings stay as they were judged."""
    change = LimitChange(
        place=place,
        lower=phrase_limit(new.lower),
        upper=phrase_limit(new.upper),
        aim=phrase_limit(new.aim),
        reason=new.reason,
    )
    change_limits(find_clinic(asker), change, new.known_version, asker.stamp)
    return views.view_table(see_tolerances(find_clinic(asker)))


@router.get("/settings")
def show_settings(asker: AllReaders) -> models.ClinicSettings:
    """How the clinic reads and judges."""
    return _view_settings(asker)


@router.put("/settings")
def change_settings(asker: Deciders, new: models.NewSettings) -> models.ClinicSettings:
    """Add a version of the settings on top of the one that was read."""
    rule = DecisionRule(
        beyond_from_probability=new.beyond_from_probability, within_to_probability=new.within_to_probability
    )
    wanted = clinic_settings.build_settings(new.known_version, new.lengths, rule)
    clinic_settings.change_settings(asker.record, wanted, new.reason, asker.stamp)
    return _view_settings(asker)


@router.get("/jobs")
def list_jobs(asker: AllReaders) -> list[models.JobLine]:
    """Work that takes longer than a person waits, newest first."""
    return [
        models.JobLine(
            id=job.id,
            kind=str(job.kind),
            state=str(job.state),
            athlete_id=job.athlete_id,
            visit_id=job.visit_id,
            stage=job.stage,
            done=job.done,
            total=job.total,
            error=job.error,
        )
        for job in asker.record.jobs.list_jobs()
    ]


@router.get("/trail")
def list_trail(
    asker: Clinicians,
    athlete_id: Annotated[str, Query(max_length=32)] = "",
    count: Count = 50,
    skipped: Skipped = 0,
) -> models.Page[models.TrailLine]:
    """Who looked at or changed what, newest first."""
    lines = list_trail_lines(asker.record, athlete_id, count + 1, skipped)
    note_look(asker, athlete_id, "trail")
    items = [
        models.TrailLine(at=line.at, who=line.who, act=line.act, athlete_id=line.athlete_id, what=line.what)
        for line in lines
    ]
    return build_page(items, count, skipped)


def phrase_limit(limit: float | None) -> str:
    """Return a limit as a person would type it; empty for an open side."""
    return "" if limit is None else repr(limit)


def _view_settings(asker: Asker) -> models.ClinicSettings:
    now = clinic_settings.find_settings(asker.record)
    return models.ClinicSettings(
        version=now.version,
        lengths=now.lengths.value,
        beyond_from_probability=now.rule.beyond_from_probability,
        within_to_probability=now.rule.within_to_probability,
    )
