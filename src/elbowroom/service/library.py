"""Use cases: look into the library of drills."""

from __future__ import annotations

from typing import Any

from elbowroom.core.plan.drills import Drill
from elbowroom.errors import IntakeError
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.plan_words import CAUTIONS


def get_drill(tables: PlanTables, key: str) -> Drill:
    """Return the drill of a key; raises `IntakeError` where there is none."""
    found = [drill for drill in tables.drills if drill.key == key]
    if not found:
        raise IntakeError(f"There is no drill {key!r} in the library: `elbowroom drills` lists them.")
    return found[0]


def find_drills(tables: PlanTables, word: str) -> tuple[Drill, ...]:
    """Return the drills whose name, purpose, measures, load or equipment hold a word; all where it is empty."""
    wanted = word.strip().casefold()
    return tuple(drill for drill in tables.drills if wanted in _join_words(drill))


def list_drills(tables: PlanTables) -> tuple[str, ...]:
    """Return the library, a line a drill."""
    width = max(len(drill.key) for drill in tables.drills)
    return tuple(f"{drill.key:<{width}}  {drill.name}. {drill.purpose}" for drill in tables.drills)


def describe_drill(drill: Drill) -> dict[str, Any]:
    """Return a drill as plain values, without its figure."""
    return {
        "key": drill.key,
        "name": drill.name,
        "purpose": drill.purpose,
        "measures": list(drill.measures),
        "set_up": drill.set_up,
        "cues": list(drill.cues),
        "doses": [
            {"ages_years": list(dose.ages_years), "stages": [str(stage) for stage in dose.stages], "dose": dose.words}
            for dose in drill.doses
        ],
        "progress": drill.progress,
        "stop": drill.stop,
        "load": str(drill.load),
        "not_with": [str(caution) for caution in drill.cautions],
        "equipment": list(drill.equipment),
        "evidence": drill.evidence,
    }


def list_drill(drill: Drill) -> tuple[str, ...]:
    """Return one drill, a line each part."""
    doses = [
        f"Dose, {dose.ages_years[0]} to {dose.ages_years[1]} years, {' or '.join(dose.stages)}: {dose.words}."
        for dose in drill.doses
    ]
    return (
        f"{drill.name}. {drill.purpose}",
        f"Answers: {', '.join(key.replace('_', ' ') for key in drill.measures)}.",
        f"Set-up: {drill.set_up}",
        f"Cues: {'; '.join(drill.cues)}.",
        *doses,
        f"Harder: {drill.progress}",
        f"Stop: {drill.stop}",
        f"Load: {drill.load}. Not with: {', '.join(drill.cautions) or 'nothing named'}.",
        f"Needs: {', '.join(drill.equipment) or 'nothing'}.",
        f"Evidence: {drill.evidence}",
        *CAUTIONS,
    )


def _join_words(drill: Drill) -> str:
    parts = (drill.name, drill.purpose, *drill.measures, *drill.equipment, drill.load, drill.set_up)
    return " ".join(parts).replace("_", " ").casefold()
