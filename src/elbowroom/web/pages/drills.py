"""Drills: the library with its figures, and what is chosen for an athlete."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from elbowroom.core.quantities.types import Absent
from elbowroom.service import drilling, library, plan_choices
from elbowroom.service.record_tools import get_athlete
from elbowroom.web.asking import Asker, Clinicians, Everybody, Lookers, note_look
from elbowroom.web.pages.intake import Form
from elbowroom.web.showing import render_page

router = APIRouter()


@router.get("/drills")
def list_drills(request: Request, asker: Everybody, word: str = "") -> HTMLResponse:
    """Show the library, or the drills that hold a word."""
    found = library.find_drills(asker.web.plan, word)
    return render_page(
        request,
        asker,
        "drill_library.html",
        drills=found,
        figures={drill.key: _draw(asker, drill) for drill in found},
        word=word,
        count=len(asker.web.plan.drills),
    )


@router.get("/drills/{key}")
def show_drill(request: Request, key: str, asker: Everybody) -> HTMLResponse:
    """Show one drill with its figure."""
    drill = library.get_drill(asker.web.plan, key)
    return render_page(request, asker, "drill.html", drill=drill, figure=_draw(asker, drill))


@router.get("/athletes/{athlete_id}/drills")
def show_athlete_drills(
    request: Request, athlete_id: str, asker: Lookers, stage: str = plan_choices.FIRST_STAGE
) -> HTMLResponse:
    """Show what is chosen for an athlete and why, and what is not and why not."""
    today, tables = asker.stamp.at.date(), asker.web.plan
    hand = str(get_athlete(asker.record, athlete_id).hand)
    view = drilling.choose_for_athlete(asker.record, tables, athlete_id, plan_choices.find_stage(stage), today)
    kept = drilling.find_drill_plan(asker.record, athlete_id)
    note_look(asker, athlete_id, "drills")
    return render_page(
        request,
        asker,
        "athlete_drills.html",
        athlete=get_athlete(asker.record, athlete_id),
        view=view,
        stage=stage,
        stages=plan_choices.list_stages(),
        figures={item.drill.key: _draw(asker, item.drill, hand) for item in view.choice.chosen},
        kept=None if isinstance(kept, Absent) else kept,
        is_held=plan_choices.is_stopped(view),
    )


@router.post("/athletes/{athlete_id}/drills")
def keep_athlete_drills(athlete_id: str, asker: Clinicians, form: Form) -> Response:
    """Keep what is chosen for an athlete today."""
    stage = str(form.get("stage", ""))
    drilling.keep_drill_plan(asker.record, asker.web.plan, athlete_id, plan_choices.find_stage(stage), asker.stamp)
    return RedirectResponse(f"/athletes/{athlete_id}/drills?stage={stage}", status_code=303)


def _draw(asker: Asker, drill: Any, hand: str = "right") -> Markup:
    """Return a figure as it goes into a page: made by this house, its texts escaped where it is drawn."""
    draw = asker.web.plan.draw_mirrored if hand == "left" else asker.web.plan.draw_figure
    return Markup(draw(drill))
