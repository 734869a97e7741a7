"""Filming a visit: begin it, add clips, see whether they will do, and have them screened."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import BaseModel

from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.core.measures.types import ThrowKind
from elbowroom.service import filming
from elbowroom.service.asking_jobs import cancel_job
from elbowroom.service.filming_board import build_filming_board
from elbowroom.service.filming_types import Shows
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import get_athlete
from elbowroom.service.uploading import PIECE_BYTES
from elbowroom.service.visit_plan import BoardSize
from elbowroom.web.asking import Filmers, note_look
from elbowroom.web.showing import render_page, render_part

router = APIRouter()
WORDS = {"views": list(View), "kinds": list(ThrowKind), "boards": list(BoardSize), "shows": list(Shows)}
CM_A_METRE = 100.0


class GroundForm(BaseModel):
    """What the form of the ground holds; a number that may lack is a text."""

    target_m: float
    board_size: BoardSize = BoardSize.LARGE
    tape_m: str = ""
    mass_kg: str = ""
    known_version: int = 0


class BeginningForm(GroundForm):
    """What the form that begins a visit holds."""

    height_cm: float
    kind: ThrowKind


class ClipForm(BaseModel):
    """What the form of a clip holds."""

    known_version: int
    view: View
    shows: Shows = Shows.THROWS
    rate_hz: str = ""
    thrower: Side | Literal[""] = ""
    is_used: bool = False


@router.get("/athletes/{athlete_id}/film")
def show_beginning(request: Request, athlete_id: str, asker: Filmers) -> HTMLResponse:
    """Show the form that begins a visit."""
    athlete = get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "filming")
    return render_page(request, asker, "filming_begin.html", athlete=athlete, **WORDS)


@router.post("/athletes/{athlete_id}/film")
def take_beginning(athlete_id: str, asker: Filmers, form: Annotated[BeginningForm, Form()]) -> RedirectResponse:
    """Begin a visit of today."""
    height_m = form.height_cm / CM_A_METRE
    visit_id = filming.begin_visit(asker.record, athlete_id, height_m, form.kind, _build_ground(form), asker.stamp)
    return _turn_back(visit_id)


@router.get("/visits/{visit_id}/film")
def show_filming(request: Request, visit_id: str, asker: Filmers) -> HTMLResponse:
    """Show a visit that is filmed here."""
    board = build_filming_board(asker.record, visit_id, asker.stamp.at)
    note_look(asker, board.filmed.visit.athlete_id, f"visit {visit_id}, filming")
    return render_page(request, asker, "filming.html", board=board, piece_bytes=PIECE_BYTES, **WORDS)


@router.get("/visits/{visit_id}/film/board")
def show_board(request: Request, visit_id: str, asker: Filmers) -> HTMLResponse:
    """Show the part of the page that changes while clips arrive and jobs run."""
    board = build_filming_board(asker.record, visit_id, asker.stamp.at)
    return render_part(request, asker, "filming_board.html", board=board, **WORDS)


@router.post("/visits/{visit_id}/film/ground")
def take_ground(visit_id: str, asker: Filmers, form: Annotated[GroundForm, Form()]) -> RedirectResponse:
    """Change what is known of the ground; the body mass stays as it was."""
    mass_kg = filming.get_filmed_visit(asker.record, visit_id).ground.mass_kg
    ground = replace(_build_ground(form), mass_kg=mass_kg)
    filming.change_ground(asker.record, visit_id, ground, form.known_version, asker.stamp)
    return _turn_back(visit_id)


@router.post("/visits/{visit_id}/film/clips/{file_id}")
def take_clip(visit_id: str, file_id: str, asker: Filmers, form: Annotated[ClipForm, Form()]) -> RedirectResponse:
    """Change what is known of a clip."""
    clips = filming.get_filmed_visit(asker.record, visit_id).clips
    facts = filming.ClipFacts(
        shows=form.shows,
        view=form.view,
        rate_hz=filming.read_size_value(form.rate_hz, "rate") if form.rate_hz else ABSENT,
        thrower=form.thrower or ABSENT,
        marks=next((clip.known.marks for clip in clips if clip.file.id == file_id), "{}"),
        is_used=form.is_used,
    )
    filming.change_clip(asker.record, visit_id, file_id, facts, form.known_version, asker.stamp)
    return _turn_back(visit_id)


@router.post("/visits/{visit_id}/film/screen")
def take_screening(visit_id: str, asker: Filmers) -> RedirectResponse:
    """Ask for the screening."""
    filming.begin_screening(asker.record, visit_id, asker.stamp)
    return _turn_back(visit_id)


@router.post("/visits/{visit_id}/film/jobs/{job_id}/cancel")
def take_cancelling(visit_id: str, job_id: str, asker: Filmers) -> RedirectResponse:
    """Cancel a job of the visit."""
    cancel_job(asker.record, job_id, asker.stamp)
    return _turn_back(visit_id)


def _build_ground(form: GroundForm) -> filming.GroundFacts:
    return filming.GroundFacts(
        target_m=form.target_m,
        board_size=form.board_size,
        tape_m=filming.read_size_value(form.tape_m, "tape") if form.tape_m else 0.0,
        mass_kg=filming.read_size_value(form.mass_kg, "body mass") if form.mass_kg else ABSENT,
    )


def _turn_back(visit_id: str) -> RedirectResponse:
    return RedirectResponse(f"/visits/{visit_id}/film", status_code=303)
