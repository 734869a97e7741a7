"""What a day asks, one query each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Engine, Select, Subquery, and_, func, select

from elbowroom.adapters.record.clinic_models import DayPlace, Review
from elbowroom.adapters.record.columns import ABSENT
from elbowroom.adapters.record.databases import READS, translate_database_errors
from elbowroom.adapters.record.models import AthleteVersion, Finding, Screening, Visit
from elbowroom.service.day_values import PlaceLine, VisitLine


class DatabaseDayLists:
    """A `DayLists` over a database."""

    def __init__(self, engine: Engine) -> None:
        """`engine` comes from `open_sealed_file` or `open_server`, migrated."""
        self._engine = engine

    def list_places(self, day: date) -> tuple[PlaceLine, ...]:
        """The athletes who are expected on a day, by name."""
        newest = _find_newest(DayPlace, DayPlace.athlete_id, DayPlace.on_day == day)
        last = (
            select(Visit.athlete_id, func.max(Visit.made_on).label("last"))
            .where(Visit.made_on < day)
            .group_by(Visit.athlete_id)
            .subquery()
        )
        columns: list[Any] = [
            DayPlace.athlete_id,
            AthleteVersion.name,
            AthleteVersion.born_on,
            DayPlace.note,
            last.c.last,
        ]
        query = (
            select(*columns)
            .join(newest, and_(newest.c.key == DayPlace.athlete_id, newest.c.version == DayPlace.version))
            .join(AthleteVersion, AthleteVersion.athlete_id == DayPlace.athlete_id)
            .outerjoin(last, last.c.athlete_id == DayPlace.athlete_id)
            .where(DayPlace.is_expected, _is_newest_name())
            .order_by(AthleteVersion.name_key, DayPlace.athlete_id)
        )
        return tuple(
            PlaceLine(
                athlete_id=row.athlete_id,
                name=row.name,
                born_on=row.born_on,
                note=row.note,
                last_visit=row.last or ABSENT,
            )
            for row in self._run(query)
        )

    def list_visits(self, day: date) -> tuple[VisitLine, ...]:
        """The visits of a day, by name."""
        query = _select_visits().where(Visit.made_on == day)
        return self._build_lines(query.order_by(AthleteVersion.name_key, Visit.id))

    def list_waiting(self, count: int = 20) -> tuple[VisitLine, ...]:
        """Visits whose newest screening nobody looked through, newest first."""
        query = _select_visits().where(Screening.id.is_not(None), Review.id.is_(None))
        return self._build_lines(query.order_by(Visit.made_on.desc(), Visit.id).limit(count))

    def list_athlete_visits(self, athlete_id: str) -> tuple[VisitLine, ...]:
        """The visits of an athlete, newest first."""
        query = _select_visits().where(Visit.athlete_id == athlete_id)
        return self._build_lines(query.order_by(Visit.made_on.desc(), Visit.id))

    def _build_lines(self, query: Select[Any]) -> tuple[VisitLine, ...]:
        rows = self._run(query)
        counts = self._count_verdicts([row.screening_id for row in rows if row.screening_id])
        return tuple(
            VisitLine(
                athlete_id=row.athlete_id,
                name=row.name,
                born_on=row.born_on,
                visit_id=row.visit_id,
                made_on=row.made_on,
                kind=row.kind,
                version=row.version or 0,
                beyond_count=counts.get((row.screening_id, "beyond"), 0),
                open_count=counts.get((row.screening_id, "too close to call"), 0),
                is_reviewed=row.review_id is not None,
            )
            for row in rows
        )

    def _count_verdicts(self, screening_ids: Sequence[str]) -> dict[tuple[str, str], int]:
        columns: list[Any] = [Finding.screening_id, Finding.verdict, func.count().label("number")]
        query = (
            select(*columns)
            .where(Finding.screening_id.in_(screening_ids))
            .group_by(Finding.screening_id, Finding.verdict)
        )
        return {(row.screening_id, row.verdict): row.number for row in self._run(query)}

    def _run(self, query: Select[Any]) -> Sequence[Any]:
        with translate_database_errors(), self._engine.connect() as connection:
            return connection.execution_options(**READS).execute(query).all()


def _find_newest(table: Any, key: Any, *conditions: Any) -> Subquery:
    """Return the highest version of each key among the rows that fulfil the conditions."""
    query = select(key.label("key"), func.max(table.version).label("version"))
    return query.where(*conditions).group_by(key).subquery()


def _is_newest_name() -> Any:
    """Return the condition that a row of names is the athlete's newest."""
    later = AthleteVersion.__table__.alias()
    query = select(func.max(later.c.version)).where(later.c.athlete_id == AthleteVersion.athlete_id)
    return AthleteVersion.version == query.scalar_subquery()


def _select_visits() -> Select[Any]:
    """Return the query of visits with name, newest screening and its review."""
    later = Screening.__table__.alias()
    newest = select(func.max(later.c.version)).where(later.c.visit_id == Visit.id).scalar_subquery()
    columns: list[Any] = [
        *(Visit.athlete_id, AthleteVersion.name, AthleteVersion.born_on, Visit.id.label("visit_id"), Visit.made_on),
        *(Visit.kind, Screening.version, Screening.id.label("screening_id"), Review.id.label("review_id")),
    ]
    return (
        select(*columns)
        .join(AthleteVersion, AthleteVersion.athlete_id == Visit.athlete_id)
        .outerjoin(Screening, and_(Screening.visit_id == Visit.id, Screening.version == newest))
        .outerjoin(Review, Review.reviewed_screening_id == Screening.id)
        .where(_is_newest_name())
    )
