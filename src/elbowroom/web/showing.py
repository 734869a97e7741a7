"""Pages and parts of pages made from templates."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from elbowroom.web.asking import Asker

FOLDER = Path(__file__).parent
TEMPLATES = Environment(
    loader=FileSystemLoader(FOLDER / "templates"),
    autoescape=select_autoescape(default=True, default_for_string=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
"""Every value is escaped, and a value that a page forgot is an error."""


def render_page(request: Request, asker: Asker, template: str, **values: Any) -> HTMLResponse:
    """Return a whole page for somebody logged in; its template extends `base.html`."""
    text = TEMPLATES.get_template(template).render(request=request, asker=asker, **values)
    return HTMLResponse(text)


def render_part(request: Request, asker: Asker, template: str, **values: Any) -> HTMLResponse:
    """Return a part of a page for htmx to put in; its template extends nothing."""
    return render_page(request, asker, template, **values)


def render_bare(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Return a page for somebody who is not logged in; its template extends `bare.html`."""
    return HTMLResponse(TEMPLATES.get_template(template).render(request=request, **values), status_code=status)
