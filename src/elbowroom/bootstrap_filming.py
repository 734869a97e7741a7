"""The wiring of advice before filming."""

from __future__ import annotations

from pathlib import Path

from threadpoolctl import threadpool_limits

from elbowroom.adapters.guide.printing import render_guide
from elbowroom.adapters.results.folders import write_whole_file
from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.adapters.tables.typical import read_typical_throw
from elbowroom.bootstrap import find_landmark_tables
from elbowroom.service.placing import FilmingTools, describe_filming
from elbowroom.service.placing_types import FilmingAdvice, FilmingRequest


def predict_filming(request: FilmingRequest) -> FilmingAdvice:
    """Return what planned phones will measure and what would do better; raises `SetUpError` for impossible places."""
    tools = FilmingTools(
        typical=read_typical_throw(), landmark_tables=find_landmark_tables(), bone_shares=read_bone_shares()
    )
    with threadpool_limits(limits=1):
        return describe_filming(request, tools)


def write_guide(advice: FilmingAdvice, path: Path, paper: str, *, may_replace: bool) -> None:
    """Write the filming guide as PDF; raises `ResultError`."""
    write_whole_file(path, render_guide(advice, paper), may_replace)
