"""Intake, holds, exam and drills, in the same plain values as the files of the command line."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from elbowroom.core.quantities.types import Absent
from elbowroom.service import drilling, exams, holds, intake, intake_plain, library, plan_choices, plan_words
from elbowroom.web.api import models
from elbowroom.web.api.asking import AllReaders, Deciders, Readers, Writers
from elbowroom.web.asking import Asker, note_look

router = APIRouter(tags=["plan"])


@router.get("/athletes/{athlete_id}/standing")
def show_standing(asker: AllReaders, athlete_id: models.Id) -> dict[str, Any]:
    """Whether an athlete may throw: no intake, clear, hold or released, with the words for the family."""
    note_look(asker, athlete_id, "standing")
    return _describe_standing(asker, athlete_id)


@router.get("/athletes/{athlete_id}/growth")
def show_growth(asker: Readers, athlete_id: models.Id) -> dict[str, Any]:
    """Years from the fastest growth, height velocity and what they change, each with its error."""
    growth = intake.view_growth(asker.record, asker.web.plan, athlete_id, asker.stamp.at.date())
    note_look(asker, athlete_id, "growth")
    return plan_words.describe_growth(growth)


@router.get("/athletes/{athlete_id}/intake")
def show_intake(asker: Readers, athlete_id: models.Id) -> dict[str, Any]:
    """The newest intake, by `elbowroom schema intake`; empty where none was taken."""
    found = intake.find_intake(asker.record, asker.web.plan, athlete_id, asker.stamp.at.date())
    note_look(asker, athlete_id, "intake")
    return {} if isinstance(found, Absent) else intake_plain.describe_intake(found)


@router.post("/athletes/{athlete_id}/intake", status_code=201)
def add_intake(asker: Writers, athlete_id: models.Id, new: dict[str, Any]) -> dict[str, Any]:
    """Take an intake in, by `elbowroom schema intake`, and say whether a warning sign holds."""
    intake.keep_intake(asker.record, asker.web.plan, athlete_id, new, asker.stamp)
    return _describe_standing(asker, athlete_id)


@router.post("/athletes/{athlete_id}/releases", status_code=201)
def add_release(asker: Deciders, athlete_id: models.Id, new: models.NewRelease) -> dict[str, Any]:
    """Release warning signs, as a clinician, with a reason; all that hold where no sign is named."""
    holds.release_hold(asker.record, athlete_id, new.signs, new.reason, asker.stamp)
    return _describe_standing(asker, athlete_id)


@router.get("/athletes/{athlete_id}/exam")
def show_exam(asker: Readers, athlete_id: models.Id) -> list[dict[str, Any]]:
    """The newest exam against published limits, each answered with a probability; empty where there was none."""
    findings = exams.judge_athlete_exam(asker.record, asker.web.plan, athlete_id, asker.stamp.at.date())
    note_look(asker, athlete_id, "exam")
    return plan_words.describe_exam_findings(findings)


@router.post("/athletes/{athlete_id}/exam", status_code=201)
def add_exam(asker: Deciders, athlete_id: models.Id, new: dict[str, Any]) -> list[dict[str, Any]]:
    """Take an exam in, by `elbowroom schema exam`, and say what it found."""
    exams.keep_exam(asker.record, asker.web.plan, athlete_id, new, asker.stamp)
    findings = exams.judge_athlete_exam(asker.record, asker.web.plan, athlete_id, asker.stamp.at.date())
    return plan_words.describe_exam_findings(findings)


@router.get("/athletes/{athlete_id}/drills")
def show_choice(asker: Readers, athlete_id: models.Id, stage: models.Stage = "learning") -> dict[str, Any]:
    """What is chosen for an athlete and why, and what is not and why not, by `elbowroom schema drills`."""
    wanted, today = plan_choices.find_stage(stage), asker.stamp.at.date()
    view = drilling.choose_for_athlete(asker.record, asker.web.plan, athlete_id, wanted, today)
    note_look(asker, athlete_id, "drills")
    return drilling.describe_drill_view(view)


@router.post("/athletes/{athlete_id}/drills", status_code=201)
def add_drill_plan(asker: Deciders, athlete_id: models.Id, new: models.NewDrillPlan) -> dict[str, Any]:
    """Choose drills for an athlete today and keep them."""
    wanted = plan_choices.find_stage(new.stage)
    view = drilling.keep_drill_plan(asker.record, asker.web.plan, athlete_id, wanted, asker.stamp)
    return drilling.describe_drill_view(view)


@router.get("/drills")
def list_drills(asker: AllReaders) -> list[dict[str, Any]]:
    """The library of drills."""
    return [library.describe_drill(drill) for drill in asker.web.plan.drills]


def _describe_standing(asker: Asker, athlete_id: str) -> dict[str, Any]:
    today, signs = asker.stamp.at.date(), asker.web.plan.signs
    return plan_words.describe_standing(holds.find_standing(asker.record, athlete_id, today, signs))
