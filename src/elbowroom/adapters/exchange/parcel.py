"""All files of one handing-out, by name."""

from __future__ import annotations

import json
from collections.abc import Collection

from elbowroom.adapters.exchange.health_record import HealthLink, render_health_record
from elbowroom.adapters.exchange.motion_file import render_motion_file
from elbowroom.adapters.exchange.tables import render_csv_tables, render_parquet_tables
from elbowroom.errors import ResultError
from elbowroom.service.exchange_types import HandedVisit

FORMATS = ("csv", "parquet", "c3d", "fhir")
"""Formats that a screening is handed out in."""


def render_parcel(visit: HandedVisit, formats: Collection[str], link: HealthLink) -> dict[str, bytes]:
    """Return file name -> content for the formats wanted; raises `ResultError` with what to do where one cannot be.

    `about.json` says what the parcel holds, how it was made and what must be read with it.
    """
    files: dict[str, bytes] = {}
    if "csv" in formats:
        files |= render_csv_tables(visit)
    if "parquet" in formats:
        files |= render_parquet_tables(visit)
    if "c3d" in formats:
        files |= {f"throw-{motion.throw}.c3d": render_motion_file(visit, motion) for motion in visit.motions}
    if "fhir" in formats:
        files["health-record.json"] = render_health_record(visit, link)
    if not files:
        raise ResultError("The report holds no motion to hand out as C3D: screen the visit again, or name csv.")
    return files | {"about.json": _render_about(visit, sorted(files), link)}


def _render_about(visit: HandedVisit, names: list[str], link: HealthLink) -> bytes:
    about = {
        "made_by": "elbowroom",
        "made_at": link.made_at.isoformat(timespec="seconds"),
        "code": visit.code,
        "day": visit.made_on.isoformat(),
        "age_years": visit.age_years,
        "height_m": visit.height_m,
        "hand": visit.hand,
        "kind": visit.kind,
        "report_sha256": visit.digest,
        "files": names,
        "signs": "Numbers of a left-hander read as for a right-hander; joint centres keep the athlete's own sides.",
        "method": list(visit.method),
        "made_with": dict(visit.made_with),
        "cautions": list(visit.cautions),
    }
    return json.dumps(about, ensure_ascii=False, indent=1).encode("utf-8")
