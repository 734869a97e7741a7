"""Settings: what the clinic may set."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from elbowroom.web.asking import Everybody
from elbowroom.web.showing import render_page

router = APIRouter()


@router.get("/settings")
def show_settings(request: Request, asker: Everybody) -> HTMLResponse:
    """Show what may be set, by role."""
    return render_page(request, asker, "settings.html")
