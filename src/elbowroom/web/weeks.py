"""What the pages of throwing weeks share."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Form
from pydantic import BaseModel

from elbowroom import bootstrap_weeks
from elbowroom.errors import PlanError
from elbowroom.service.record_tools import RecordTools, compute_age_years, get_athlete
from elbowroom.service.week_tools import WeekTools
from elbowroom.web.asking import Asker


class CountForm(BaseModel):
    """What somebody says was thrown on a day."""

    day: date
    team: Annotated[str, Form(max_length=100)]
    activity: Annotated[str, Form(max_length=40)] = "game"
    pitches: int = 0
    throws: int = 0
    innings_caught: int = 0
    before_last_batter: Annotated[str, Form(max_length=6)] = ""

    @property
    def words(self) -> tuple[date, str, str, tuple[int, int, int], int | None]:
        """Day, team, activity, the numbers, and pitches when the last batter came up; raises `PlanError`."""
        text = self.before_last_batter.strip()
        if text and not text.isdigit():
            raise PlanError(f"{text!r} is no number of pitches: write digits, or leave it empty.")
        numbers = (self.pitches, self.throws, self.innings_caught)
        return self.day, self.team, self.activity, numbers, int(text) if text else None


def find_weeks(asker: Asker) -> WeekTools:
    """Return what the use cases of throwing weeks work with."""
    return build_weeks(asker.record)


def build_weeks(record: RecordTools) -> WeekTools:
    """Return what the use cases of throwing weeks work with, over a record."""
    return bootstrap_weeks.build_week_tools(record)


def list_head(asker: Asker, athlete_id: str) -> dict[str, object]:
    """Return what the head of an athlete's pages of weeks."""
    athlete = get_athlete(asker.record, athlete_id)
    today = asker.stamp.at.date()
    return {
        "athlete": athlete,
        "age_years": compute_age_years(athlete.born_on, today),
        "today": today,
        "base": f"/athletes/{athlete_id}",
    }
