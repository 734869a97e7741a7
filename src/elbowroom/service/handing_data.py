"""Use case: the data of a kept visit for a colleague or a study."""

from __future__ import annotations

from collections.abc import Callable

from elbowroom.errors import ConsentError
from elbowroom.service.athletes import check_consent
from elbowroom.service.clinic_tools import get_screening, get_visit
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, FileEntry, Purpose
from elbowroom.service.record_values import Stamp

Render = Callable[[bytes], dict[str, bytes]]
"""Turns the bytes of a report into files by name; raises `ResultError`."""


def make_data(tools: RecordTools, visit_id: str, purpose: Purpose, render: Render, stamp: Stamp) -> dict[str, bytes]:
    """Return the files of the newest screening of a visit, and note in the trail that they were given.

    Care covers a colleague who treats the athlete; a study needs a consent for research. Raises `ConsentError` where
    none covers the purpose, `RecordError` where there is no such visit or screening, `ResultError`; nothing is noted
    then.
    """
    if purpose is Purpose.TEACHING:
        raise ConsentError("Data are given for care or research: name one of these.")
    visit = get_visit(tools, visit_id)
    check_consent(tools, visit.athlete_id, purpose)
    screening = get_screening(tools, visit_id)
    (file,) = tools.entries.find_entries(FileEntry, id=screening.report_entry_id)
    files = render(b"".join(tools.vault.read_range(file.file_id)))
    what = f"visit {visit_id}, screening {screening.version}: data for {purpose}"
    tools.entries.add_entries([note_act(tools, stamp, Act.GAVE, visit.athlete_id, what)])
    return files
