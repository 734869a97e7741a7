"""The questions that lists ask, one query each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from sqlalchemy import Engine, Select, func, select

from elbowroom.adapters.record.columns import ABSENT
from elbowroom.adapters.record.databases import READS, translate_database_errors
from elbowroom.adapters.record.models import Athlete, AthleteVersion, Finding, Screening, Trail, Visit
from elbowroom.service.record_types import FindingEntry, TrailEntry
from elbowroom.service.record_values import AthleteLine, ValueLine


class DatabaseLists:
    """A `RecordLists` over a database."""

    def __init__(self, engine: Engine) -> None:
        """`engine` comes from `open_sealed_file` or `open_server`, migrated."""
        self._engine = engine

    def list_athletes(self, name_part: str = "", count: int = 50, skipped: int = 0) -> tuple[AthleteLine, ...]:
        """Athletes whose name holds a text, by name."""
        query = _select_athletes()
        if name_part:
            query = query.where(AthleteVersion.name_key.contains(name_part.casefold(), autoescape=True))
        return tuple(_build_line(row) for row in self._run(query.limit(count).offset(skipped)))

    def list_values(self, athlete_id: str, measure: str) -> tuple[ValueLine, ...]:
        """A measure of an athlete over time, from the newest screening of each visit."""
        newest = (
            select(Screening.visit_id, func.max(Screening.version).label("version"))
            .where(Screening.athlete_id == athlete_id)
            .group_by(Screening.visit_id)
            .subquery()
        )
        query = (
            select(Visit.made_on, Visit.id.label("visit"), *Finding.__table__.columns)
            .join(Screening, Screening.id == Finding.screening_id)
            .join(newest, (newest.c.visit_id == Screening.visit_id) & (newest.c.version == Screening.version))
            .join(Visit, Visit.id == Screening.visit_id)
            .where(Finding.athlete_id == athlete_id, Finding.measure == measure)
            .order_by(Visit.made_on, Visit.id)
        )
        return tuple(
            ValueLine(
                made_on=row.made_on,
                visit_id=row.visit,
                finding=FindingEntry(**{item.name: row._mapping[item.name] for item in fields(FindingEntry)}),
            )
            for row in self._run(query)
        )

    def list_overdue(self, last_before: date, born_before: date) -> tuple[AthleteLine, ...]:
        """Athletes of whom nothing was recorded from a day on, and who are old enough."""
        lines = [_build_line(row) for row in self._run(_select_athletes().where(AthleteVersion.born_on < born_before))]
        return tuple(line for line in lines if line.last_seen < last_before)

    def list_acts(self, athlete_id: str = "", count: int = 50, skipped: int = 0) -> tuple[TrailEntry, ...]:
        """Lines of the trail, newest first."""
        query = select(*Trail.__table__.columns).order_by(Trail.recorded_at.desc(), Trail.id.desc())
        if athlete_id:
            query = query.where(Trail.athlete_id == athlete_id)
        rows = self._run(query.limit(count).offset(skipped))
        names = [item.name for item in fields(TrailEntry)]
        return tuple(TrailEntry(**{name: row._mapping[name] for name in names}) for row in rows)

    def _run(self, query: Select[Any]) -> Sequence[Any]:
        with translate_database_errors(), self._engine.connect() as connection:
            return connection.execution_options(**READS).execute(query).all()


def _select_athletes() -> Select[Any]:
    """Return the query of all athletes in their newest version, by name."""
    newest = (
        select(AthleteVersion.athlete_id, func.max(AthleteVersion.version).label("version"))
        .group_by(AthleteVersion.athlete_id)
        .subquery()
    )
    visits = (
        select(Visit.athlete_id, func.count().label("count"), func.max(Visit.made_on).label("last"))
        .group_by(Visit.athlete_id)
        .subquery()
    )
    return (
        select(
            *(AthleteVersion.athlete_id, AthleteVersion.name, AthleteVersion.born_on, Athlete.recorded_at),
            *(func.coalesce(visits.c.count, 0).label("visit_count"), visits.c.last),
        )
        .join(Athlete, Athlete.id == AthleteVersion.athlete_id)
        .join(
            newest,
            (newest.c.athlete_id == AthleteVersion.athlete_id) & (newest.c.version == AthleteVersion.version),
        )
        .outerjoin(visits, visits.c.athlete_id == AthleteVersion.athlete_id)
        .order_by(AthleteVersion.name_key, AthleteVersion.athlete_id)
    )


def _build_line(row: Any) -> AthleteLine:
    return AthleteLine(
        athlete_id=row.athlete_id,
        name=row.name,
        born_on=row.born_on,
        visit_count=row.visit_count,
        last_visit=row.last or ABSENT,
        added_on=row.recorded_at.date(),
    )
