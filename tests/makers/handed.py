"""An invented screening as it is handed out."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache

from elbowroom.adapters.exchange.health_record import HealthLink
from elbowroom.adapters.exchange.reading import build_handed_visit
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.service.exchange_types import HandedVisit
from tests.makers.reports import make_report

CODE = "A-17"
LINK = HealthLink(patient="", made_at=datetime(2026, 5, 17, 9, 30, tzinfo=UTC))


@cache
def make_report_bytes() -> bytes:
    """Return the invented report as its file holds it."""
    return render_report_json(make_report()).encode("utf-8")


@cache
def make_handed_visit() -> HandedVisit:
    """Return it under a code."""
    return build_handed_visit(make_report_bytes(), CODE)
