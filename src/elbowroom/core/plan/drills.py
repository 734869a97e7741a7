"""The library of drills as frozen values: what each is for, how it is done, how much, and when it must not be done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.plan.intake import Intake, PainPlace


class TrainingStage(StrEnum):
    """Where an athlete stands in the work."""

    LEARNING = "learning"
    BUILDING = "building"
    RETURNING = "returning"


class DrillLoad(StrEnum):
    """What a drill asks of the throwing arm, the least first."""

    NONE = "no throw, no arm load"
    DRY = "dry: the arm moves without a ball"
    STRENGTH = "strength work of the arm"
    THROW = "throws a ball"


class Caution(StrEnum):
    """What may speak against a drill."""

    ELBOW_PAIN = "elbow pain"
    SHOULDER_PAIN = "shoulder pain"
    ARM_PAIN = "pain of the arm or hand"
    NECK_PAIN = "neck pain"
    BACK_PAIN = "back or rib pain"
    HIP_PAIN = "hip or groin pain"
    KNEE_PAIN = "knee pain"
    FOOT_PAIN = "ankle or foot pain"
    GROWTH_SPURT = "growth spurt"


PLACES_OF_CAUTION: dict[Caution, tuple[PainPlace, ...]] = {
    Caution.ELBOW_PAIN: (PainPlace.INNER_ELBOW, PainPlace.OUTER_ELBOW, PainPlace.BACK_OF_ELBOW),
    Caution.SHOULDER_PAIN: (PainPlace.FRONT_OF_SHOULDER, PainPlace.BACK_OF_SHOULDER, PainPlace.TOP_OF_SHOULDER),
    Caution.ARM_PAIN: (PainPlace.UPPER_ARM, PainPlace.FOREARM, PainPlace.WRIST_OR_HAND),
    Caution.NECK_PAIN: (PainPlace.NECK,),
    Caution.BACK_PAIN: (PainPlace.LOW_BACK, PainPlace.RIBS),
    Caution.HIP_PAIN: (PainPlace.HIP_OR_GROIN,),
    Caution.KNEE_PAIN: (PainPlace.KNEE,),
    Caution.FOOT_PAIN: (PainPlace.ANKLE_OR_FOOT,),
}
"""Places of pain that each caution stands for; every place belongs to one."""
ARM_CAUTIONS = (Caution.ELBOW_PAIN, Caution.SHOULDER_PAIN, Caution.ARM_PAIN)
"""Cautions that speak against every throw and all strength work of the arm."""


@dataclass(frozen=True, kw_only=True)
class Dose:
    """How much, for an age band and a stage."""

    ages_years: tuple[int, int]
    """Youngest and oldest age in completed years, inclusive."""
    stages: tuple[TrainingStage, ...]
    """Stages that it holds for."""
    sets: int
    """Sets a day."""
    repeats: int
    """Repeats a set."""
    days_a_week: int
    """Days a week."""
    note: str
    """What else, such as intensity; empty where nothing."""

    @property
    def words(self) -> str:
        """The dose in words: `2 sets of 8, 3 days a week`."""
        note = f"; {self.note}" if self.note else ""
        sets = "1 set" if self.sets == 1 else f"{self.sets} sets"
        return f"{sets} of {self.repeats}, {self.days_a_week} days a week{note}"


@dataclass(frozen=True, kw_only=True)
class FigureStep:
    """One picture of a drill."""

    pose: str
    """Key of the pose."""
    caption: str
    """What is seen, a few words."""


@dataclass(frozen=True, kw_only=True)
class Drill:
    """One drill of the library."""

    key: str
    """Key of the drill."""
    name: str
    """Name for people."""
    purpose: str
    """What it is for."""
    measures: tuple[str, ...]
    """Keys of measures of the throw, or of quantities of the exam, that it answers."""
    set_up: str
    """Where and how to stand, with what."""
    cues: tuple[str, ...]
    """What to say, short."""
    doses: tuple[Dose, ...]
    """How much by age and stage."""
    progress: str
    """When and how to make it harder."""
    stop: str
    """When to stop."""
    not_with: tuple[Caution, ...]
    """What speaks against it, beside what its load does."""
    load: DrillLoad
    """What it asks of the throwing arm."""
    equipment: tuple[str, ...]
    """What is needed; empty for nothing."""
    evidence: str
    """What is known of its effect, or `common practice, no source`."""
    mark: str
    """How that is known."""
    figure: tuple[FigureStep, ...]
    """Its pictures, in order."""

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Everything that speaks against it: its own cautions, and arm pain where it loads the arm."""
        by_load = ARM_CAUTIONS if self.load in (DrillLoad.STRENGTH, DrillLoad.THROW) else ()
        return tuple(caution for caution in Caution if caution in (*self.not_with, *by_load))


@dataclass(frozen=True, kw_only=True)
class Segment:
    """One segment of a figure, from its near end to its far end."""

    angle_deg: float
    """Direction in the picture: 0 down, 90 to the right, 180 up, -90 to the left."""
    length_share: float
    """Length as a share of the figure's height; below the true one where it points towards the viewer."""


@dataclass(frozen=True, kw_only=True)
class Pose:
    """A figure in one pose, seen from one side, by the directions of its segments."""

    key: str
    """Key of the pose."""
    view: str
    """From where it is seen, in words."""
    trunk: Segment
    """From the hips to the neck."""
    head: Segment
    """From the neck to the middle of the head."""
    throwing_arm: tuple[Segment, Segment]
    """Upper arm and forearm of the throwing side."""
    glove_arm: tuple[Segment, Segment]
    """Upper arm and forearm of the glove side."""
    lead_leg: tuple[Segment, Segment, Segment]
    """Thigh, shank and foot of the lead leg."""
    pivot_leg: tuple[Segment, Segment, Segment]
    """Thigh, shank and foot of the pivot leg."""
    shoulder_share: float
    """Half width of the shoulders as a share of the height: 0 seen from the side."""
    hip_share: float
    """The same of the hips."""
    raised_share: float
    """How high the lowest point lies above the ground, as a share of the height."""
    things: tuple[str, ...]
    """What else is drawn, such as `ball`, `wall right`, `band throwing hand`."""


def find_cautions(intake: Intake, is_in_growth_spurt: bool) -> tuple[Caution, ...]:
    """Return what speaks against drills in an athlete: every pain that there is now, and the growth spurt."""
    hurting = {pain.place for pain in intake.pains if pain.worst > 0}
    found = [caution for caution, places in PLACES_OF_CAUTION.items() if hurting & set(places)]
    return (*found, *([Caution.GROWTH_SPURT] if is_in_growth_spurt else []))


def find_dose(drill: Drill, age_years: float, stage: TrainingStage) -> Dose | None:
    """Find the dose of a drill for an age and a stage, None where none is written."""
    years = int(age_years)
    return next(
        (dose for dose in drill.doses if dose.ages_years[0] <= years <= dose.ages_years[1] and stage in dose.stages),
        None,
    )


def list_library_problems(drills: Sequence[Drill], poses: Sequence[Pose], measures: set[str]) -> Iterator[str]:
    """Yield everything in a library that does not fit together; `measures` are the keys that may be answered."""
    keys = [drill.key for drill in drills]
    yield from (f"{key} is there twice" for key in sorted({key for key in keys if keys.count(key) > 1}))
    known = {pose.key for pose in poses}
    for drill in drills:
        yield from (f"{drill.key} answers {key}, which is no measure" for key in drill.measures if key not in measures)
        yield from (
            f"{drill.key} shows pose {step.pose}, which is not there" for step in drill.figure if step.pose not in known
        )
        if not (drill.measures and drill.cues and drill.doses and drill.figure):
            yield f"{drill.key} lacks measures, cues, doses or figure"
