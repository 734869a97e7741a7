"""Teams, counts and their links, plans, returns to throwing, retests."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables."""
    _make_teams()
    _make_links()
    _make_counts()
    _make_plans()
    _make_returns()
    _make_retests()


def _make_recorded() -> tuple[sa.Column[object], ...]:
    return (
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
    )


def _make_id(name: str, is_needed: bool = True) -> sa.Column[object]:
    return sa.Column(name, sa.String(length=32), nullable=not is_needed)


def _refer(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{target}.id"], name=op.f(f"fk_{table}_{column}_{target}"))


def _key(table: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}"))


def _once(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=op.f(f"uq_{table}_{'_'.join(columns)}"))


def _index(table: str, *columns: str) -> None:
    op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, list(columns), unique=False)


def _make_teams() -> None:
    op.create_table(
        "team",
        _make_id("team_id"),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("rest_table", sa.String(length=80), nullable=False),
        *_make_recorded(),
        _key("team"),
        _once("team", "team_id", "version"),
    )
    op.create_table(
        "membership",
        _make_id("athlete_id"),
        _make_id("team_id"),
        sa.Column("is_member", sa.Boolean(), nullable=False),
        *_make_recorded(),
        _key("membership"),
        _refer("membership", "athlete_id", "athlete"),
    )
    _index("membership", "athlete_id")
    _index("membership", "team_id")


def _make_links() -> None:
    op.create_table(
        "count_link",
        _make_id("athlete_id"),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("shown_name", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        *_make_recorded(),
        _key("count_link"),
        _refer("count_link", "athlete_id", "athlete"),
        _once("count_link", "digest"),
    )
    _index("count_link", "athlete_id")
    op.create_table(
        "count_link_end",
        _make_id("athlete_id"),
        _make_id("count_link_id"),
        *_make_recorded(),
        _key("count_link_end"),
        _refer("count_link_end", "athlete_id", "athlete"),
        _refer("count_link_end", "count_link_id", "count_link"),
        _once("count_link_end", "count_link_id"),
    )
    _index("count_link_end", "athlete_id")


def _make_counts() -> None:
    op.create_table(
        "throwing_count",
        _make_id("athlete_id"),
        _make_id("count_id"),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("is_removed", sa.Boolean(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("team", sa.Text(), nullable=False),
        sa.Column("activity", sa.String(length=40), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("pitches", "throws", "innings_caught")),
        sa.Column("before_last_batter", sa.Integer(), nullable=True),
        _make_id("sent_by_link_id", is_needed=False),
        *_make_recorded(),
        _key("throwing_count"),
        _refer("throwing_count", "athlete_id", "athlete"),
        _refer("throwing_count", "sent_by_link_id", "count_link"),
        _once("throwing_count", "count_id", "number"),
    )
    _index("throwing_count", "athlete_id", "day")


def _make_plans() -> None:
    op.create_table(
        "throwing_plan",
        _make_id("athlete_id"),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("outcome", sa.String(length=40), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("request", "days", "words")),
        *_make_recorded(),
        _key("throwing_plan"),
        _refer("throwing_plan", "athlete_id", "athlete"),
        _once("throwing_plan", "athlete_id", "version"),
    )


def _make_returns() -> None:
    op.create_table(
        "return_course",
        _make_id("athlete_id"),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("programme", sa.String(length=80), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        *_make_recorded(),
        _key("return_course"),
        _refer("return_course", "athlete_id", "athlete"),
        _once("return_course", "athlete_id", "version"),
    )
    op.create_table(
        "return_event",
        _make_id("athlete_id"),
        _make_id("return_course_id"),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(length=80), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        *_make_recorded(),
        _key("return_event"),
        _refer("return_event", "athlete_id", "athlete"),
        _refer("return_event", "return_course_id", "return_course"),
        _once("return_event", "return_course_id", "number"),
    )
    _index("return_event", "athlete_id")


def _make_retests() -> None:
    op.create_table(
        "retest",
        *(_make_id(name) for name in ("athlete_id", "earlier_visit_id", "later_visit_id")),
        sa.Column("changes", sa.Text(), nullable=False),
        *_make_recorded(),
        _key("retest"),
        _refer("retest", "athlete_id", "athlete"),
        _refer("retest", "earlier_visit_id", "visit"),
        _refer("retest", "later_visit_id", "visit"),
    )
    for name in ("athlete_id", "earlier_visit_id", "later_visit_id"):
        _index("retest", name)
