"""Wiring of counts, plans, returns, retests and teams."""

from __future__ import annotations

import secrets

from elbowroom.adapters.tables.programmes import read_programmes, read_soreness_rules
from elbowroom.adapters.tables.rest import read_rest_tables
from elbowroom.adapters.tables.rows import read_packaged_text
from elbowroom.adapters.weeks.solver import CpSatWeeks
from elbowroom.bootstrap_pages import build_clinic
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.week_tools import WeekTables, WeekTools

SCHEMA = "weeks.schema.json"
CODE_BYTES = 32


def build_week_tools(record: RecordTools) -> WeekTools:
    """Return what the use cases of throwing weeks work with; raises `TableError`."""
    return WeekTools(clinic=build_clinic(record), tables=build_week_tables(), solver=CpSatWeeks())


def build_week_tables() -> WeekTables:
    """Return the reference tables of throwing weeks; raises `TableError`."""
    return WeekTables(rest=read_rest_tables(), programmes=read_programmes(), soreness=read_soreness_rules())


def make_code() -> str:
    """Return a new code for a link, which nobody can guess."""
    return secrets.token_urlsafe(CODE_BYTES)


def render_weeks_schema() -> str:
    """Return the JSON Schema of counts, plans, returns, retests and teams as text."""
    return read_packaged_text(SCHEMA)
