"""What the use cases of counts, plans, returns, retests and teams work with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from elbowroom.core.plan.programme import Programme, SorenessRule
from elbowroom.core.plan.rest import RestTable
from elbowroom.core.plan.warnings import Standing, check_not_held
from elbowroom.core.quantities.types import Absent
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.holds import find_standing
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.week_ports import WeekSolver


@dataclass(frozen=True, kw_only=True)
class WeekTables:
    """The reference tables of throwing weeks."""

    rest: tuple[RestTable, ...]
    """Pitch-count tables."""
    programmes: tuple[Programme, ...]
    """Programmes of a return to throwing."""
    soreness: tuple[SorenessRule, ...]
    """Soreness rules."""


@dataclass(frozen=True, kw_only=True)
class WeekTools:
    """The opened record with tables and what lays out weeks."""

    clinic: ClinicTools
    """The record and what reads its reports."""
    tables: WeekTables
    """The reference tables."""
    solver: WeekSolver
    """Lays out weeks."""
    find_standing: Callable[[RecordTools, str, date], Standing | Absent] = find_standing
    """Finds whether a warning sign stops an athlete on a day, or that no intake was taken."""

    @property
    def record(self) -> RecordTools:
        """The opened record."""
        return self.clinic.record


def check_may_throw(tools: WeekTools, athlete_id: str, what: str, on: date) -> None:
    """Raise `HoldError` where a warning sign stops an athlete on a day; `what` is what was asked for, in the plural."""
    standing = tools.find_standing(tools.record, athlete_id, on)
    if not isinstance(standing, Absent):
        check_not_held(standing, what)
