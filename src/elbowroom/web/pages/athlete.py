"""One athlete: the story, consents, visits, and every measure over time."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom import bootstrap_pages
from elbowroom.service import athletes, courses
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import ADULT_YEARS, compute_age_years
from elbowroom.service.record_types import Purpose
from elbowroom.service.rejudging import judge_kept_visits
from elbowroom.web.asking import Asker, Clinicians, Everybody, Filmers, Lookers
from elbowroom.web.clinic import find_clinic, has_sight_of_findings
from elbowroom.web.pages.athletes import AthleteForm
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/athletes/{athlete_id}")


class VersionForm(AthleteForm):
    """What is said of an athlete on top of a version."""

    version: int


@router.get("")
def show_athlete(request: Request, asker: Everybody, athlete_id: str) -> HTMLResponse:
    """Show an athlete; an assistant sees neither findings nor the note."""
    if not has_sight_of_findings(asker):
        story = athletes.see_athlete(asker.record, athlete_id, asker.stamp)
        return render_page(request, asker, "athlete_brief.html", **_list_facts(asker, story))
    sheet = courses.see_athlete_sheet(find_clinic(asker), athlete_id, asker.stamp)
    lengths = find_settings(asker.record).lengths
    values = {
        "visits": sheet.visits,
        "growth": bootstrap_pages.list_growth_rows(sheet.growth, lengths),
        "growth_chart": bootstrap_pages.draw_growth(sheet.growth, lengths) if sheet.growth else None,
        "courses": [bootstrap_pages.build_course_row(course, lengths) for course in sheet.courses],
    }
    return render_page(request, asker, "athlete.html", **_list_facts(asker, sheet.story), **values)


@router.get("/measures/{measure}")
def show_course(request: Request, asker: Lookers, athlete_id: str, measure: str) -> HTMLResponse:
    """Show one measure of an athlete over time."""
    story, course = courses.see_course(find_clinic(asker), athlete_id, measure, asker.stamp)
    lengths = find_settings(asker.record).lengths
    values = {
        "course": course,
        "row": bootstrap_pages.build_course_row(course, lengths),
        "chart": bootstrap_pages.draw_course(course, lengths),
        "points": bootstrap_pages.build_point_rows(course, lengths),
    }
    return render_page(request, asker, "course.html", athlete=story.versions[-1], **values)


@router.post("/version")
def take_version(asker: Clinicians, athlete_id: str, form: Annotated[VersionForm, Form()]) -> Response:
    """Add a version of what is known of an athlete."""
    facts = athletes.build_facts(form.name, form.born_on, form.hand, form.note)
    athletes.add_athlete_version(asker.record, athlete_id, facts, form.version, asker.stamp)
    return _turn_back(athlete_id)


@router.post("/guardians")
def take_guardian(
    asker: Filmers,
    athlete_id: str,
    name: Annotated[str, Form(min_length=1, max_length=200)],
    relation: Annotated[str, Form(max_length=100)],
) -> Response:
    """Add a guardian."""
    athletes.add_guardian(asker.record, athlete_id, name.strip(), relation.strip(), asker.stamp)
    return _turn_back(athlete_id)


@router.post("/consents")
def take_consent(
    asker: Filmers,
    athlete_id: str,
    purpose: Annotated[Purpose, Form()],
    given_on: Annotated[date, Form()],
    guardian_id: Annotated[str, Form(max_length=32)] = "",
) -> Response:
    """Add a consent; without a guardian it is the athlete's own."""
    athletes.add_consent(asker.record, athlete_id, guardian_id or ABSENT, purpose, given_on, asker.stamp)
    return _turn_back(athlete_id)


@router.post("/consents/withdraw")
def take_withdrawal(asker: Filmers, athlete_id: str, purpose: Annotated[Purpose, Form()]) -> Response:
    """Withdraw every consent for a purpose that still holds, from today on."""
    athletes.withdraw_consent(asker.record, athlete_id, purpose, asker.stamp.at.date(), asker.stamp)
    return _turn_back(athlete_id)


@router.post("/judge")
def take_judging(asker: Clinicians, athlete_id: str) -> Response:
    """Judge every visit of an athlete by the limits that hold now."""
    judge_kept_visits(find_clinic(asker), athlete_id, asker.stamp)
    return _turn_back(athlete_id)


def _turn_back(athlete_id: str) -> Response:
    return RedirectResponse(f"/athletes/{athlete_id}", status_code=303)


def _list_facts(asker: Asker, story: athletes.AthleteStory) -> dict[str, object]:
    athlete, today = story.versions[-1], asker.stamp.at.date()
    return {
        "athlete": athlete,
        "story": story,
        "age_years": compute_age_years(athlete.born_on, today),
        "is_minor": compute_age_years(athlete.born_on, today) < ADULT_YEARS,
        "holding": _list_holding(story),
        "guardians": {one.id: one for one in story.guardians},
        "purposes": list(Purpose),
        "today": today,
    }


def _list_holding(story: athletes.AthleteStory) -> list[Purpose]:
    """Return the purposes for which a consent holds, in the order of the purposes."""
    holding = {consent.purpose for consent, withdrawal in story.consents if not withdrawal}
    return [purpose for purpose in Purpose if purpose in holding]
