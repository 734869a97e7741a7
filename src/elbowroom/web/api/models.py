"""What the programming face takes and gives. Lengths in metres, angles in degrees, times UTC."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Generic, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, WithJsonSchema

from elbowroom.service.record_types import Purpose

Item = TypeVar("Item")


def refuse_numbers(value: object) -> object:
    """Raise `ValueError` for a number where a day is meant: it would be read as seconds since 1970."""
    if not isinstance(value, str | date):
        raise ValueError("write a day as 2026-03-01")
    return value


def refuse_flags(value: object) -> object:
    """Raise `ValueError` for true, false and texts where a number is meant."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("write a whole number")
    return value


Day = Annotated[date, BeforeValidator(refuse_numbers)]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Id = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
"""A random name of 32 hexadecimal digits."""
Text = Annotated[str, StringConstraints(max_length=2000, pattern=r"^[^\x00]*$")]
WORDS = r"^[^\x00-\x1f]*[^\x00-\x20][^\x00-\x1f]*$"
Words = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=WORDS)]
Measure = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,119}$")]
Version = Annotated[int, Field(ge=0, le=1_000_000), BeforeValidator(refuse_flags)]
FirstVersion = Annotated[int, Field(ge=1, le=1_000_000), BeforeValidator(refuse_flags)]
Verdict = Annotated[str, WithJsonSchema({"enum": ["within", "beyond", "too close to call", "not measured"]})]
ChangeWord = Annotated[str, WithJsonSchema({"enum": ["real", "not shown", "too close to call"]})]
Hand = Annotated[str, WithJsonSchema({"enum": ["right", "left"]})]
Lengths = Annotated[str, WithJsonSchema({"enum": ["cm", "in"]})]


Stage = Literal["learning", "building", "returning"]


class Given(BaseModel):
    """Something that a program sends; a name that is not known is refused."""

    model_config = ConfigDict(extra="forbid")


class NewRelease(Given):
    """A release of warning signs."""

    signs: list[Words] = Field([], description="Keys of the signs; all that hold where empty.")
    reason: Text = Field(description="What was examined, and why throwing is allowed again.")


class NewDrillPlan(Given):
    """Drills to be chosen and kept."""

    stage: Stage


class Problem(BaseModel):
    """Why something cannot be done (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str = Field(description="One sentence that says what to do.")
    problems: list[dict[str, str]] | None = Field(None, description="Every value that cannot be used, for status 422.")


class Page(BaseModel, Generic[Item]):
    """A part of a list."""

    items: list[Item]
    next_skipped: int | None = Field(description="`skipped` of the next part; null at the end.")


class Quantity(BaseModel):
    """A measured value; it never comes without its uncertainty."""

    value: float
    unit: str
    standard: float = Field(alias="standard_uncertainty")
    half_width: float = Field(alias="half_width_95")
    degrees_of_freedom: float | None = Field(description="null where infinite.")
    budget: dict[str, float] = Field(description="Standard uncertainty by source.")


class Gap(BaseModel):
    """Something that could not be obtained."""

    absent: str = Field(description="Why.")
    advice: str = Field(description="What to do next time; may be empty.")


class AthleteLine(BaseModel):
    """An athlete in a list."""

    id: Id
    name: str
    born_on: date
    visit_count: int
    last_visit: date | None


class NewAthlete(Given):
    """What is said of an athlete."""

    name: Words
    born_on: Day
    hand: Literal["right", "left"]
    note: Text = ""


class AthleteChange(NewAthlete):
    """A version of an athlete on top of the one that the program read."""

    known_version: FirstVersion


class Athlete(BaseModel):
    """An athlete in the newest version."""

    id: Id
    version: int
    name: str
    born_on: date
    hand: Hand
    note: str
    recorded_at: datetime


class Added(BaseModel):
    """What was added."""

    id: Id


class NewGuardian(Given):
    """A guardian."""

    name: Words
    relation: Words


class Guardian(BaseModel):
    """A guardian of an athlete."""

    id: Id
    name: str
    relation: str


class NewConsent(Given):
    """A consent; without a guardian it is the athlete's own, which only an adult can give."""

    purpose: Purpose
    given_on: Day
    guardian_id: Id | None = None


class NewWithdrawal(Given):
    """The end of every consent for a purpose."""

    purpose: Purpose


class Withdrawn(BaseModel):
    """How many consents ended."""

    count: int


class Consent(BaseModel):
    """A consent, and when it was withdrawn."""

    id: Id
    purpose: Purpose
    given_on: date
    guardian_id: Id | None
    withdrawn_on: date | None


class Visit(BaseModel):
    """A visit with what its newest screening came to."""

    id: Id
    athlete_id: Id
    made_on: date
    kind: str
    version: int = Field(description="Newest version of the screening; 0 where there is none.")
    beyond_count: int
    open_count: int
    is_reviewed: bool


class Screening(BaseModel):
    """A version of a visit's screening."""

    id: Id
    version: int
    made_on: date
    recorded_at: datetime
    tolerances: str
    tool_version: str
    corrections_version: int
    is_reviewed: bool


class Limits(BaseModel):
    """Limits with their source; an open side is null."""

    lower: float | None
    upper: float | None
    aim: float | None
    unit: str
    source: str
    version: str


class Finding(BaseModel):
    """A measure held against its limits."""

    measure: Measure
    words: str
    definition: str
    sign: str
    typical: Quantity | Gap
    throws: list[Quantity | Gap]
    limits: Limits | Gap
    verdict: Verdict
    reason: str
    probability_beyond: float | None


class Findings(BaseModel):
    """What a version of a screening found."""

    screening: Screening
    findings: list[Finding]
    order_of_work: list[Measure]
    cautions: list[str] = Field(description="What must be read with the findings.")


class Judged(BaseModel):
    """What judging again came to."""

    version: int
    is_new: bool


class NewReview(Given):
    """Who sends it looked through the newest version of the screening."""

    version: FirstVersion
    note: Text = ""


class ChangeModel(BaseModel):
    """What may be said of a change."""

    verdict: ChangeWord
    change: Quantity
    smallest_real_value: float = Field(description="Smallest change that would be real, in the unit of the change.")
    probability_same_way: float
    reason: str


class CoursePoint(BaseModel):
    """A measure at one visit."""

    visit_id: Id
    made_on: date
    typical: Quantity | Gap
    verdict: Verdict


class Course(BaseModel):
    """A measure over the visits of an athlete."""

    measure: Measure
    words: str
    points: list[CoursePoint]
    since_last: ChangeModel | Gap
    since_first: ChangeModel | Gap


class LimitRow(Limits):
    """A row of the table of limits."""

    place: int
    measure: Measure
    ages_years: tuple[float, float]
    heights_m: tuple[float, float]
    kinds: list[str]
    judged: bool
    is_own: bool


class LimitTable(BaseModel):
    """The limits that hold."""

    version: int
    rows: list[LimitRow]


class NewLimits(Given):
    """New limits for one row; null for an open side."""

    known_version: Version
    lower: Number | None = None
    upper: Number | None = None
    aim: Number | None = None
    reason: Words


class TableVersion(BaseModel):
    """A version of the clinic's own limits."""

    version: int
    changed: str
    reason: str
    recorded_at: datetime
    recorded_by: str


class ClinicSettings(BaseModel):
    """How the clinic reads and judges."""

    version: int
    lengths: Lengths
    beyond_from_probability: float
    within_to_probability: float


class NewSettings(Given):
    """Settings on top of a known version."""

    known_version: Version
    lengths: Literal["cm", "in"]
    beyond_from_probability: Annotated[float, Field(gt=0.5, lt=1, strict=True)]
    within_to_probability: Annotated[float, Field(gt=0, lt=0.5, strict=True)]
    reason: Text = ""


class JobLine(BaseModel):
    """Work that takes longer than a person waits."""

    id: str
    kind: str
    state: str
    athlete_id: str
    visit_id: str
    stage: str
    done: int
    total: int
    error: str


class TrailLine(BaseModel):
    """Who did what."""

    at: datetime
    who: str
    act: str
    athlete_id: str
    what: str
