"""Data of a visit, to download."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from elbowroom import bootstrap_exchange
from elbowroom.service.clinic_tools import get_visit
from elbowroom.service.record_tools import get_athlete
from elbowroom.service.record_types import Purpose
from elbowroom.web.asking import Lookers, note_look
from elbowroom.web.showing import render_page

router = APIRouter()
FORMAT_WORDS = {
    "csv": ("Tables (CSV)", "Measures, budgets, instants and joints, with a dictionary; opens in any program."),
    "parquet": ("Tables (Parquet)", "The same, with units and meanings inside, for programs that analyse."),
    "c3d": ("Motion (C3D)", "Joint centres and instants of every throw, for motion programs."),
    "fhir": ("Health record (HL7 FHIR R4)", "Observations with uncertainty and limits, for a chart system."),
}
PURPOSE_WORDS = {
    Purpose.CARE: "a colleague who treats the athlete",
    Purpose.RESEARCH: "a study (needs a consent for research)",
}
Format = Literal["csv", "parquet", "c3d", "fhir"]


@router.get("/visits/{visit_id}/data")
def show_data(request: Request, visit_id: str, asker: Lookers) -> HTMLResponse:
    """Show in which formats the data of a visit can be had."""
    visit = get_visit(asker.record, visit_id)
    athlete = get_athlete(asker.record, visit.athlete_id)
    note_look(asker, visit.athlete_id, f"visit {visit_id}, data")
    return render_page(
        request, asker, "data.html", visit=visit, athlete=athlete, formats=FORMAT_WORDS, purposes=PURPOSE_WORDS
    )


@router.get("/visits/{visit_id}/data/file")
def make_data(
    visit_id: str,
    asker: Lookers,
    code: Annotated[str, Query(max_length=80)],
    purpose: Annotated[Literal["care", "research"], Query()] = "care",
    formats: Annotated[list[Format] | None, Query(alias="format")] = None,
    patient: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Make the data of a visit and send them as one ZIP file; the trail says that they were given."""
    wanted = bootstrap_exchange.HandOut(
        code=code, formats=tuple(formats or FORMAT_WORDS), patient=patient, made_at=asker.stamp.at
    )
    content = bootstrap_exchange.make_data_file(asker.record, visit_id, Purpose(purpose), wanted, asker.stamp)
    headers = {"Content-Disposition": 'attachment; filename="data.zip"'}
    return Response(content, media_type="application/zip", headers=headers)
