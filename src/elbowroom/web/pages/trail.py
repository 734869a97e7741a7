"""The trail: who looked at or changed what."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from elbowroom.service.trail import list_trail_lines
from elbowroom.web.asking import Clinicians, note_look
from elbowroom.web.showing import render_page

router = APIRouter()
LINES = 100


@router.get("/settings/trail")
def show_trail(
    request: Request,
    asker: Clinicians,
    athlete: Annotated[str, Query(max_length=32)] = "",
    skipped: Annotated[int, Query(ge=0)] = 0,
) -> HTMLResponse:
    """Show the trail, newest first, of one athlete or of everybody."""
    lines = list_trail_lines(asker.record, athlete, LINES + 1, skipped)
    note_look(asker, athlete, "trail")
    values = {"lines": lines[:LINES], "athlete": athlete, "skipped": skipped, "step": LINES}
    return render_page(request, asker, "trail.html", has_more=len(lines) > LINES, **values)
