"""Papers about a visit, to download."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, Field

from elbowroom.service.clinic_tools import get_visit
from elbowroom.service.handing_out import build_order, make_papers, read_day
from elbowroom.service.paper_values import Language, Paper, PaperKind
from elbowroom.service.record_tools import get_athlete
from elbowroom.web.asking import Lookers, note_look
from elbowroom.web.showing import render_page

router = APIRouter()
KIND_WORDS = {
    PaperKind.FAMILY: ("Page for the family", "One sheet in plain words, with figures, as PDF."),
    PaperKind.CLINICAL: ("Clinical report", "Tables, curves, budgets, method and sources, as PDF."),
    PaperKind.NOTE: ("Note for the chart", "Plain text to paste."),
}
PAPER_WORDS = {Paper.LETTER: "Letter", Paper.A4: "A4"}
LANGUAGE_WORDS = {
    Language.ENGLISH: "English",
    Language.SPANISH: "Spanish",
    Language.SPANISH_OF_THE_STATES: "Spanish, numbers as in the United States",
}
UNIT_WORDS = {"cm": "centimetres", "in": "inches"}
MEDIA_TYPES = {".pdf": "application/pdf", ".txt": "text/plain; charset=utf-8"}


class PaperWish(BaseModel):
    """How a paper is wanted."""

    sheet: Paper = Paper.LETTER
    language: Language = Language.ENGLISH
    units: Literal["cm", "in"] = "cm"
    back: str = Field(default="", max_length=10)


@router.get("/visits/{visit_id}/papers")
def show_papers(request: Request, visit_id: str, asker: Lookers) -> HTMLResponse:
    """Show which papers of a visit can be made."""
    visit = get_visit(asker.record, visit_id)
    athlete = get_athlete(asker.record, visit.athlete_id)
    note_look(asker, visit.athlete_id, f"visit {visit_id}, papers")
    return render_page(
        request,
        asker,
        "papers.html",
        visit=visit,
        athlete=athlete,
        kinds=KIND_WORDS,
        sheets=PAPER_WORDS,
        languages=LANGUAGE_WORDS,
        units=UNIT_WORDS,
    )


@router.get("/visits/{visit_id}/papers/{kind}")
def make_paper(
    visit_id: str,
    kind: PaperKind,
    asker: Lookers,
    wish: Annotated[PaperWish, Query()],
) -> Response:
    """Make one paper of a visit and send it as a file; the trail says that it was given."""
    order = build_order((kind,), wish.sheet, str(wish.language), wish.units, read_day(wish.back))
    (paper,) = make_papers(asker.record, asker.web.papers, visit_id, order, asker.stamp)
    ending = paper.name[paper.name.rindex(".") :]
    headers = {"Content-Disposition": f'attachment; filename="{paper.name}"'}
    return Response(paper.content, media_type=MEDIA_TYPES[ending], headers=headers)
