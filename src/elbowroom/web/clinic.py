"""What pages share that show the clinic's findings."""

from __future__ import annotations

from elbowroom import bootstrap_pages
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.record_types import Role
from elbowroom.web.asking import Asker


def find_clinic(asker: Asker) -> ClinicTools:
    """Return what the use cases of findings and limits work with."""
    return bootstrap_pages.build_clinic(asker.record)


def has_sight_of_findings(asker: Asker) -> bool:
    """Return whether the person may see findings and health details."""
    return asker.has_role(Role.CLINICIAN, Role.READER)
