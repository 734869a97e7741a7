"""What a visit found, and why a number is what it is."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom import bootstrap_pages
from elbowroom.service import findings
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import get_visit
from elbowroom.service.days import add_review
from elbowroom.service.record_tools import list_people
from elbowroom.service.rejudging import judge_kept_visit
from elbowroom.web.asking import Clinicians, Lookers, note_look
from elbowroom.web.clinic import find_clinic
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/visits/{visit_id}")
Version = Annotated[int, Query(ge=0, le=1_000_000)]


@router.get("")
def show_findings(request: Request, asker: Lookers, visit_id: str, version: Version = 0) -> HTMLResponse:
    """Show what a version of a visit's screening found, in the order of work."""
    clinic = find_clinic(asker)
    sheet = findings.see_findings(clinic, visit_id, version, asker.stamp)
    lengths = find_settings(asker.record).lengths
    ordered = findings.order_for_reading(sheet.report)
    values = {
        "sheet": sheet,
        "rows": bootstrap_pages.build_sheet_rows(sheet.report, ordered, lengths),
        "plain": bootstrap_pages.build_plain_rows(sheet.report, lengths),
        "gaps": bootstrap_pages.build_gap_rows(sheet.report),
        "pictures": sheet.report.pictures if findings.has_pictures(clinic, visit_id) else (),
        "corrections": findings.list_corrections(clinic, visit_id),
        "people": list_people(asker.record),
        "tag": f"?version={version}" if version else "",
    }
    return render_page(request, asker, "findings.html", **values)


@router.get("/why/{measure}")
def show_why(request: Request, asker: Lookers, visit_id: str, measure: str, version: Version = 0) -> HTMLResponse:
    """Show everything behind one number."""
    clinic = find_clinic(asker)
    why = findings.see_why(clinic, visit_id, measure, version, asker.stamp)
    lengths = find_settings(asker.record).lengths
    values = {
        "why": why,
        "sheet": why.sheet,
        "view": bootstrap_pages.build_why(why.sheet.report, why.finding, why.bands, lengths),
        "pictures": why.pictures if findings.has_pictures(clinic, visit_id) else (),
        "people": list_people(asker.record),
        "tag": f"?version={version}" if version else "",
    }
    return render_page(request, asker, "why.html", **values)


@router.get("/pictures/{digest}")
def show_picture(asker: Lookers, visit_id: str, digest: str) -> Response:
    """Show a key picture of a visit."""
    picture = findings.read_picture(find_clinic(asker), visit_id, digest)
    note_look(asker, get_visit(asker.record, visit_id).athlete_id, f"visit {visit_id}, picture")
    kind = "image/png" if picture.startswith(b"\x89PNG") else "image/jpeg"
    return Response(picture, media_type=kind)


@router.post("/review")
def take_review(
    asker: Clinicians,
    visit_id: str,
    screening: Annotated[str, Form(max_length=32)],
    note: Annotated[str, Form(max_length=2000)] = "",
) -> Response:
    """Note that the clinician looked through a version of the screening."""
    add_review(asker.record, screening, note, asker.stamp)
    return RedirectResponse(f"/visits/{visit_id}", status_code=303)


@router.post("/judge")
def take_judging(asker: Clinicians, visit_id: str) -> Response:
    """Judge the visit by the limits that hold now."""
    judge_kept_visit(find_clinic(asker), visit_id, asker.stamp)
    return RedirectResponse(f"/visits/{visit_id}", status_code=303)
