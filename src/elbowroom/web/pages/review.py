"""The review of a visit: its clips in step, the skeleton, the instants, and corrections of all of them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Header, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from pydantic import BaseModel, Field

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import CorrectionError, RecordError
from elbowroom.service.correction_values import CorrectionAsked
from elbowroom.service.correction_words import describe_change
from elbowroom.service.record_tools import get_athlete
from elbowroom.service.record_types import CorrectionKind, FileKind, Role
from elbowroom.service.review_values import ReviewView
from elbowroom.service.review_views import get_proxy_file, view_review
from elbowroom.service.reviewing import ReviewTools, add_checked_correction, get_visit, keep_current, see_corrections
from elbowroom.web.asking import Asker, Clinicians, Lookers, note_look
from elbowroom.web.ranges import answer_range
from elbowroom.web.review_json import write_change, write_review, write_throw
from elbowroom.web.showing import TEMPLATES, render_page

router = APIRouter(prefix="/visits/{visit_id}/review")
LONGEST_REASON = 500


class CorrectionForm(BaseModel):
    """A correction as the page sends it."""

    kind: CorrectionKind
    """What is corrected."""
    throw: int
    """Number of the throw."""
    after: str = Field(max_length=2000)
    """What holds instead, as JSON."""
    known: int
    """The last correction that the person saw; 0 for none."""
    reason: str = Field(default="", max_length=LONGEST_REASON)
    """Why."""


def find_review(asker: Asker) -> ReviewTools:
    """Return what the review works with; raises `RecordError` where this server has none."""
    if isinstance(asker.web.review, Absent):
        raise RecordError(asker.web.review.reason)
    return asker.web.review


@router.get("")
def show_review(request: Request, asker: Lookers, visit_id: str) -> HTMLResponse:
    """Show the review of a visit."""
    view = view_review(find_review(asker), visit_id)
    note_look(asker, view.athlete_id, f"review of visit {visit_id}")
    name, may_correct = get_athlete(asker.record, view.athlete_id).name, asker.has_role(Role.CLINICIAN)
    return render_page(request, asker, "review.html", view=view, name=name, may_correct=may_correct, keys=KEYS)


@router.get("/data")
def show_data(asker: Lookers, visit_id: str) -> JSONResponse:
    """Give the scripts of the page what they need once."""
    return JSONResponse(write_review(view_review(find_review(asker), visit_id)))


@router.get("/throws/{number}")
def show_throw(asker: Lookers, visit_id: str, number: int) -> JSONResponse:
    """Give one throw: joints in every picture and in space, instants, curves."""
    view = view_review(find_review(asker), visit_id)
    found = [throw for throw in view.throws if throw.number == number]
    if not found:
        raise CorrectionError(f"Throw {number} is not measured in this visit: choose another.")
    return JSONResponse(write_throw(view, found[0]))


@router.get("/findings")
def show_findings(request: Request, asker: Lookers, visit_id: str) -> HTMLResponse:
    """Give the part of the page with verdicts and corrections."""
    return render_findings(request, asker, view_review(find_review(asker), visit_id))


@router.post("/corrections")
def take_correction(asker: Clinicians, visit_id: str, form: CorrectionForm) -> JSONResponse:
    """Keep a correction and give the first answer: before and after of what it changes."""
    tools = find_review(asker)
    words = describe_change(form.kind, form.throw, form.after)
    asked = CorrectionAsked(kind=form.kind, throw_number=form.throw, what=words, after=form.after, reason=form.reason)
    entry, change = add_checked_correction(tools, visit_id, asked, form.known, asker.stamp)
    return JSONResponse({"version": entry.version, "words": words, "change": write_change(change)})


@router.post("/current")
def take_current(asker: Clinicians, visit_id: str) -> JSONResponse:
    """Bring the screening up to date with the corrections and give the full answer."""
    kept, change = keep_current(find_review(asker), visit_id, asker.stamp)
    return JSONResponse({"screening": kept.version, "change": write_change(change)})


@router.get("/corrections")
def list_corrections(asker: Lookers, visit_id: str) -> JSONResponse:
    """Give the corrections, the newest first, for somebody whose own did not fit on top of another's."""
    get_visit(asker.record, visit_id)
    lines = see_corrections(asker.record, visit_id)
    said: list[dict[str, Any]] = [
        {"version": line.version, "throw": line.throw_number, "words": line.words, "by": line.made_by} for line in lines
    ]
    return JSONResponse(said)


@router.get("/clips/{clip}/proxy")
def show_proxy(asker: Lookers, visit_id: str, clip: int, asked: Annotated[str, Header(alias="range")] = "") -> Response:
    """Give a clip's proxy, whole or the part that is asked for; it lies sealed and is opened piece by piece."""
    file = get_proxy_file(find_review(asker), visit_id, clip, FileKind.PROXY)
    return answer_range(asker.record.vault, file.file_id, "video/mp4", asked)


@router.get("/clips/{clip}/times")
def show_times(asker: Lookers, visit_id: str, clip: int) -> Response:
    """Give the table of picture times of a clip's proxy."""
    file = get_proxy_file(find_review(asker), visit_id, clip, FileKind.PICTURE_TIMES)
    content = b"".join(asker.record.vault.read_range(file.file_id))
    return Response(content, media_type="application/json")


def render_findings(request: Request, asker: Asker, view: ReviewView) -> HTMLResponse:
    """Return the part of the page with verdicts and corrections."""
    may_correct = asker.has_role(Role.CLINICIAN)
    text = TEMPLATES.get_template("review_findings.html").render(asker=asker, view=view, may_correct=may_correct)
    return HTMLResponse(text)


KEYS = (
    ("Left, Right", "one picture back, forward"),
    ("Shift with Left, Right", "ten pictures"),
    ("Home, End", "first, last picture of the throw"),
    ("Space", "play slowly, stop"),
    (", and .", "slower, faster"),
    ("O", "play the stretch about release over and over"),
    ("1 to 6", "go to lift, hands apart, foot contact, layback, release, finish"),
    ("V", "next clip: the one that steps and that joints are picked in"),
    ("P and N", "previous, next throw"),
    ("J, Shift with J", "pick the next, the previous joint"),
    ("Arrow keys while a joint is picked", "move it by a pixel, with Shift by ten"),
    ("Enter", "keep the joint where it was moved"),
    ("Escape", "let go of the joint, as it was"),
    ("M", "move the chosen instant to this picture"),
    ("D", "drop this throw"),
    ("U", "take the last correction back"),
    ("A and B", "turn the figure left, right"),
    ("H", "this list"),
)
"""What the keys do."""
