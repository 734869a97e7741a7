"""The day: the first page."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from elbowroom.web.asking import Everybody
from elbowroom.web.showing import render_page

router = APIRouter()


@router.get("/")
def show_day(request: Request, asker: Everybody) -> HTMLResponse:
    """Show the day."""
    return render_page(request, asker, "day.html")
