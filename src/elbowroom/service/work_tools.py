"""What workers do their jobs with."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from elbowroom.service.check_types import CheckLine, CheckWish
from elbowroom.service.landmarking import Progress
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import VisitParcel


@dataclass(frozen=True, kw_only=True)
class WorkTools:
    """The opened record, and what else jobs need from outside."""

    record: RecordTools
    """The opened record."""
    open_folder: Callable[[], AbstractContextManager[Path]]
    """Gives a folder that only this user may read; what lies in it is overwritten and removed at the end."""
    write_file: Callable[[Path, Iterable[bytes]], int]
    """Writes a file from pieces, whole or not at all; raises `RecordError`."""
    screen: Callable[[Path, Progress], VisitParcel]
    """Screens the visit of a folder and writes report page and data into it; raises as a screening does."""
    make_proxy: Callable[[Path, Path, Path, Progress], None]
    """Makes of a clip a proxy and a table of picture times; raises `ClipError`."""
    check_clip: Callable[[CheckWish, Progress], tuple[CheckLine, ...]]
    """Looks quickly whether a clip will do; raises `ClipError`."""
    write_visit_file: Callable[[RecordTools, str], str]
    """Gives the text of the visit file of a visit that is filmed here; raises `RecordError`."""
    now: Callable[[], datetime]
    """Gives the time, UTC."""
