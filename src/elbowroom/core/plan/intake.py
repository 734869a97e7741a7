"""What is asked before anything is filmed, as frozen values, and the checks that speak once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from elbowroom.core.loads.types import Sex
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.types import ThrowingHand
from elbowroom.errors import IntakeError

AGES_YEARS = (6.0, 80.0)
"""Ages that the tables of this project reach."""
HEIGHTS_M = (0.9, 2.4)
"""Standing heights that are believed, metres."""
MASSES_KG = (12.0, 200.0)
"""Body masses that are believed, kilograms."""
SITTING_SHARES = (0.44, 0.60)
"""Sitting height as a share of standing height that is believed (usual proportions, from memory; wide on purpose)."""
MOST_PITCHES = 250
"""Most pitches of one day that are believed."""
MOST_TEAMS = 10
"""Most teams that are believed."""
WORST_SCORE = 10
"""Highest pain score of the usual scale from 0 to 10."""


class BodySide(StrEnum):
    """Sides of the body, named by the throw."""

    THROWING = "throwing side"
    GLOVE = "glove side"


class Position(StrEnum):
    """Where an athlete plays."""

    PITCHER = "pitcher"
    CATCHER = "catcher"
    INFIELD = "infield"
    OUTFIELD = "outfield"
    OTHER = "other"


class PainPlace(StrEnum):
    """Where it hurts."""

    INNER_ELBOW = "inner elbow"
    OUTER_ELBOW = "outer elbow"
    BACK_OF_ELBOW = "back of elbow"
    FRONT_OF_SHOULDER = "front of shoulder"
    BACK_OF_SHOULDER = "back of shoulder"
    TOP_OF_SHOULDER = "top of shoulder"
    UPPER_ARM = "upper arm"
    FOREARM = "forearm"
    WRIST_OR_HAND = "wrist or hand"
    NECK = "neck"
    LOW_BACK = "low back"
    RIBS = "ribs"
    HIP_OR_GROIN = "hip or groin"
    KNEE = "knee"
    ANKLE_OR_FOOT = "ankle or foot"


class PainMoment(StrEnum):
    """When in the throw, or when else, it hurts."""

    WARMING_UP = "warming up"
    ARM_BACK = "arm going back"
    ARM_FORWARD = "arm coming forward"
    RELEASE = "at release"
    SLOWING = "arm slowing down"
    AFTER = "after throwing"
    NEXT_DAY = "next day"
    AT_REST = "at rest"
    AT_NIGHT = "at night"


class Answer(StrEnum):
    """What was answered to a question; not to ask is an answer of its own."""

    YES = "yes"
    NO = "no"
    NOT_ASKED = "not asked"


class TroubleKind(StrEnum):
    """What happened before."""

    INJURY = "injury"
    OPERATION = "operation"
    PAIN = "pain"


@dataclass(frozen=True, kw_only=True)
class Pain:
    """Pain that there is now, or was within the last seven days."""

    place: PainPlace
    """Where it hurts."""
    side: BodySide
    """On which side."""
    moments: tuple[PainMoment, ...]
    """When in the throw and after it; empty where it does not go with throwing."""
    worst: int
    """Worst in the last seven days, 0 to 10."""
    days: int
    """How many days ago it began."""


@dataclass(frozen=True, kw_only=True)
class PastTrouble:
    """An injury, an operation or pain of former times."""

    kind: TroubleKind
    """What it was."""
    what: str
    """What happened, in words."""
    side: BodySide
    """On which side."""
    began_on: date
    """When it began, as far as it is known."""
    is_settled: bool
    """Whether it is over, so that nothing is left of it."""


@dataclass(frozen=True, kw_only=True)
class RecentCount:
    """Pitches that were thrown on one day for one team."""

    day: date
    """The day."""
    team: str
    """The team, in any words that tell one from another."""
    pitches: int
    """How many pitches."""


@dataclass(frozen=True, kw_only=True)
class Intake:
    """What an athlete and the family said before the first throw, and what was measured with tape and scales."""

    taken_on: date
    """Day of the questions."""
    age_years: float
    """Age on that day."""
    sex: Sex | Absent
    """Needed for growth and loads."""
    height_m: float
    """Standing height without shoes, metres."""
    sitting_height_m: float | Absent
    """From the seat to the top of the head, metres."""
    mass_kg: float | Absent
    """Body mass, kilograms."""
    hand: ThrowingHand
    """The hand that throws."""
    positions: tuple[Position, ...]
    """Where the athlete plays, most often played first."""
    teams: tuple[str, ...]
    """Teams of the last twelve months."""
    months_off: int | Absent
    """Months without any throwing among the last twelve."""
    counts: tuple[RecentCount, ...]
    """Pitches of the last days."""
    pains: tuple[Pain, ...]
    """Where it hurts now."""
    past: tuple[PastTrouble, ...]
    """What was before."""
    sleep_hours: int | Absent
    """Usual hours of sleep, whole hours."""
    grown_m: float | Absent
    """How much the athlete is said to have grown in the last twelve months, metres."""
    answers: Mapping[str, Answer]
    """Answers to the questions on warning signs, by key."""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that cannot be used as given."""

    where: str
    """Key of the place in the form or file: `height_m`, `pain 2`."""
    words: str
    """What is wrong and what to do, without a full stop."""


def check_intake(intake: Intake, today: date) -> None:
    """Raise one `IntakeError` that names everything that cannot be true."""
    raise_problems(tuple(list_intake_problems(intake, today)), "The intake")


def raise_problems(problems: Sequence[Problem], what: str) -> None:
    """Raise one `IntakeError` over all problems, if there are any."""
    if problems:
        words = "; ".join(f"{problem.where}: {problem.words}" for problem in problems)
        raise IntakeError(f"{what} cannot be used: {words}.")


def list_intake_problems(intake: Intake, today: date) -> Iterator[Problem]:
    """Yield everything in an intake that cannot be true."""
    if intake.taken_on > today:
        yield Problem(where="taken_on", words=f"{intake.taken_on} is yet to come, so give the day of the questions")
    if not AGES_YEARS[0] <= intake.age_years <= AGES_YEARS[1]:
        yield Problem(
            where="age",
            words=f"{intake.age_years:.1f} years is outside of the tables ({AGES_YEARS[0]:g} to {AGES_YEARS[1]:g}), "
            "so check the day of birth",
        )
    yield from _list_size_problems(intake)
    yield from _list_count_problems(intake)
    yield from _list_pain_problems(intake)


def _list_size_problems(intake: Intake) -> Iterator[Problem]:
    if not HEIGHTS_M[0] <= intake.height_m <= HEIGHTS_M[1]:
        yield Problem(where="height", words=f"{100 * intake.height_m:.4g} cm cannot be, so check number and unit")
    mass, sitting = intake.mass_kg, intake.sitting_height_m
    if not isinstance(mass, Absent) and not MASSES_KG[0] <= mass <= MASSES_KG[1]:
        yield Problem(where="mass", words=f"{mass:.4g} kg cannot be, so check number and unit")
    if not isinstance(sitting, Absent) and not _is_sitting_height(sitting, intake.height_m):
        yield Problem(
            where="sitting_height",
            words=f"{100 * sitting:.4g} cm does not go with {100 * intake.height_m:.4g} cm standing; measure from the "
            "seat, not from the floor",
        )
    grown = intake.grown_m
    if not isinstance(grown, Absent) and not 0 <= grown <= 0.25:
        yield Problem(where="grown", words=f"{100 * grown:.4g} cm in a year cannot be, so check number and unit")
    if not isinstance(intake.sleep_hours, Absent) and not 0 <= intake.sleep_hours <= 24:
        yield Problem(where="sleep", words="a night has 0 to 24 hours")


def _is_sitting_height(sitting_m: float, height_m: float) -> bool:
    return SITTING_SHARES[0] * height_m <= sitting_m <= SITTING_SHARES[1] * height_m


def _list_count_problems(intake: Intake) -> Iterator[Problem]:
    if not isinstance(intake.months_off, Absent) and not 0 <= intake.months_off <= 12:
        yield Problem(where="months_off", words="give 0 to 12 of the last twelve months")
    if len(intake.teams) > MOST_TEAMS:
        yield Problem(where="teams", words=f"{len(intake.teams)} teams are not believed, so name each once")
    for number, count in enumerate(intake.counts, start=1):
        where = f"count {number}"
        if count.day > intake.taken_on:
            yield Problem(where=where, words=f"{count.day} is after the day of the questions, so check the day")
        if not 0 <= count.pitches <= MOST_PITCHES:
            yield Problem(
                where=where, words=f"{count.pitches} pitches on one day are not believed, so check the number"
            )
    seen = [(count.day, count.team.casefold()) for count in intake.counts]
    for day, team in sorted({item for item in seen if seen.count(item) > 1}):
        yield Problem(where="counts", words=f"{team or 'no team'} on {day} is named twice, so add the two together")


def _list_pain_problems(intake: Intake) -> Iterator[Problem]:
    for number, pain in enumerate(intake.pains, start=1):
        if not 0 <= pain.worst <= WORST_SCORE:
            yield Problem(where=f"pain {number}", words="give the worst as a number from 0 to 10")
        if not 0 <= pain.days <= 365 * 80:
            yield Problem(where=f"pain {number}", words="give how many days ago it began, 0 or more")
    for number, trouble in enumerate(intake.past, start=1):
        if trouble.began_on > intake.taken_on:
            yield Problem(where=f"past {number}", words=f"{trouble.began_on} is yet to come, so check the day")
        if not trouble.what.strip():
            yield Problem(where=f"past {number}", words="say what it was")
