"""The clinic's own limits, with their history."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, Field

from elbowroom.errors import NotThereError, RecordError, TableError
from elbowroom.service import tolerances
from elbowroom.service.record_tools import list_people
from elbowroom.web.asking import Asker, Clinicians, Lookers
from elbowroom.web.clinic import find_clinic
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/settings/limits")
PAGE = "/settings/limits"
Number = Annotated[str, Field(max_length=20)]


class LimitForm(BaseModel):
    """What a form says of one row."""

    version: int
    lower: Number = ""
    upper: Number = ""
    aim: Number = ""
    reason: Annotated[str, Field(max_length=500)] = ""


@router.get("")
def show_limits(request: Request, asker: Lookers) -> HTMLResponse:
    """Show every limit that holds, and how the table came to be."""
    sheet = tolerances.see_tolerances(find_clinic(asker))
    return render_page(request, asker, "limits.html", sheet=sheet, people=list_people(asker.record))


@router.get("/{place}")
def show_limit(request: Request, asker: Clinicians, place: int) -> HTMLResponse:
    """Show the form for one row of the table."""
    return _render_form(request, asker, place)


@router.post("/{place}")
def take_limit(request: Request, asker: Clinicians, place: int, form: Annotated[LimitForm, Form()]) -> Response:
    """Change one row, as a new version of the table."""
    said = form.model_dump(exclude={"version"})
    change = tolerances.LimitChange(place=place, **said)
    try:
        tolerances.change_limits(find_clinic(asker), change, form.version, asker.stamp)
    except (RecordError, TableError) as e:
        return _render_form(request, asker, place, str(e), vars(change))
    return RedirectResponse(PAGE, status_code=303)


@router.post("/{place}/packaged")
def take_packaged(asker: Clinicians, place: int, version: Annotated[int, Form()]) -> Response:
    """Put the row back that elbowroom comes with."""
    tolerances.restore_limits(find_clinic(asker), place, version, asker.stamp)
    return RedirectResponse(PAGE, status_code=303)


def _render_form(
    request: Request,
    asker: Asker,
    place: int,
    problem: str = "",
    said: dict[str, object] | None = None,
) -> HTMLResponse:
    sheet = tolerances.see_tolerances(find_clinic(asker))
    if not 0 <= place < len(sheet.rows):
        raise NotThereError("The table has no such row: open the limits again.")
    values = {"sheet": sheet, "row": sheet.rows[place], "place": place, "said": said or {}}
    response = render_page(request, asker, "limit.html", problem=problem, **values)
    response.status_code = 400 if problem else 200
    return response
