"""Filming a visit: begin it, add clips, see whether they will do, and have them screened."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

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


@router.get("/athletes/{athlete_id}/film")
def show_beginning(request: Request, athlete_id: str, asker: Filmers) -> HTMLResponse:
    """Show the form that begins a visit."""
    athlete = get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "filming")
    return render_page(request, asker, "filming_begin.html", athlete=athlete, **WORDS)


@router.post("/athletes/{athlete_id}/film")
def take_beginning(
    athlete_id: str,
    asker: Filmers,
    height_cm: Annotated[float, Form()],
    kind: Annotated[ThrowKind, Form()],
    target_m: Annotated[float, Form()],
    board_size: Annotated[BoardSize, Form()] = BoardSize.LARGE,
    tape_m: Annotated[str, Form()] = "",
    mass_kg: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Begin a visit of today."""
    ground = _build_ground(target_m, board_size, tape_m, mass_kg)
    height_m = height_cm / CM_A_METRE
    visit_id = filming.begin_visit(asker.record, athlete_id, height_m, kind, ground, asker.stamp)
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
def take_ground(
    visit_id: str,
    asker: Filmers,
    known_version: Annotated[int, Form()],
    target_m: Annotated[float, Form()],
    board_size: Annotated[BoardSize, Form()] = BoardSize.LARGE,
    tape_m: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Change what is known of the ground."""
    mass = filming.get_filmed_visit(asker.record, visit_id).ground.mass_kg
    ground = _build_ground(target_m, board_size, tape_m, "" if not isinstance(mass, float) else str(mass))
    filming.change_ground(asker.record, visit_id, ground, known_version, asker.stamp)
    return _turn_back(visit_id)


@router.post("/visits/{visit_id}/film/clips/{file_id}")
def take_clip(
    visit_id: str,
    file_id: str,
    asker: Filmers,
    known_version: Annotated[int, Form()],
    view: Annotated[View, Form()],
    shows: Annotated[Shows, Form()] = Shows.THROWS,
    rate_hz: Annotated[str, Form()] = "",
    thrower: Annotated[str, Form()] = "",
    is_used: Annotated[bool, Form()] = False,
) -> RedirectResponse:
    """Change what is known of a clip."""
    clips = filming.get_filmed_visit(asker.record, visit_id).clips
    facts = filming.ClipFacts(
        shows=shows,
        view=view,
        rate_hz=filming.read_size_value(rate_hz, "rate") if rate_hz else ABSENT,
        thrower=Side(thrower) if thrower in list(Side) else ABSENT,
        marks=next((clip.known.marks for clip in clips if clip.file.id == file_id), "{}"),
        is_used=is_used,
    )
    filming.change_clip(asker.record, visit_id, file_id, facts, known_version, asker.stamp)
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


def _build_ground(target_m: float, board_size: BoardSize, tape_m: str, mass_kg: str) -> filming.GroundFacts:
    return filming.GroundFacts(
        target_m=target_m,
        board_size=board_size,
        tape_m=filming.read_size_value(tape_m, "tape") if tape_m else 0.0,
        mass_kg=filming.read_size_value(mass_kg, "body mass") if mass_kg else ABSENT,
    )


def _turn_back(visit_id: str) -> RedirectResponse:
    return RedirectResponse(f"/visits/{visit_id}/film", status_code=303)
