"""The list of athletes."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from elbowroom.web.asking import Everybody
from elbowroom.web.showing import render_page

router = APIRouter()
MOST_ATHLETES = 50


@router.get("/athletes")
def list_athletes(request: Request, asker: Everybody, name: str = "") -> HTMLResponse:
    """Show the athletes whose name holds a text."""
    lines = asker.record.lists.list_athletes(name, MOST_ATHLETES)
    return render_page(request, asker, "athletes.html", name=name, lines=lines)
