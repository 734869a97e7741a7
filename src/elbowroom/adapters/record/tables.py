"""Every table of the record, joined from the parts, each after those that it refers to."""

from __future__ import annotations

from elbowroom.adapters.record import (
    clinic_models,
    filming_models,
    intake_models,
    job_models,
    models,
    people_models,
    week_models,
)
from elbowroom.adapters.record.models import Base
from elbowroom.service.record_types import Entry

__all__ = ("JOB", "TABLES", "Base")

TABLES: dict[type[Entry], type[Base]] = {
    **models.TABLES,
    **people_models.TABLES,
    **clinic_models.TABLES,
    **intake_models.TABLES,
    **week_models.TABLES,
    **filming_models.TABLES,
}
"""The table of each kind of entry, each after those that it refers to."""
JOB = job_models.JOB
"""The table of jobs, which are no entries."""
