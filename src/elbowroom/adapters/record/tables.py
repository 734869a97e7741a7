"""Every table of the record, joined from the parts, each after those that it refers to."""

from __future__ import annotations

from elbowroom.adapters.record import models, people_models
from elbowroom.adapters.record.models import Base
from elbowroom.service.record_types import Entry

__all__ = ("TABLES", "Base")

TABLES: dict[type[Entry], type[Base]] = {
    **models.TABLES,
    **people_models.TABLES,
}
"""The table of each kind of entry, each after those that it refers to."""
