"""What goes on paper: the choice of sheet, the family page and its parts. All sentences are English messages."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent


class Paper(StrEnum):
    """Sizes of sheet."""

    LETTER = "letter"
    A4 = "a4"


class PaperKind(StrEnum):
    """What can be handed out about a visit."""

    FAMILY = "family"
    CLINICAL = "clinical"
    NOTE = "note"


class Language(StrEnum):
    """Languages of papers, by their tag; one with a region writes numbers and days as they are written there."""

    ENGLISH = "en"
    SPANISH = "es"
    SPANISH_OF_THE_STATES = "es-US"


class BodyPart(StrEnum):
    """The part of the body that a drawing makes stand out."""

    ARM = "arm"
    CHEST = "chest"
    HIPS = "hips"
    FRONT_LEG = "front leg"
    WHOLE = "whole body"


@dataclass(frozen=True, kw_only=True)
class PaperChoice:
    """How a paper is made."""

    paper: Paper = Paper.LETTER
    """The sheet."""
    lengths: LengthUnit = LengthUnit.CENTIMETRES
    """Unit of lengths."""


@dataclass(frozen=True, kw_only=True)
class PaperOrder:
    """What is asked for when papers of a kept visit are made."""

    choice: PaperChoice = field(default_factory=PaperChoice)
    """Sheet and unit of lengths."""
    language: str = "en"
    """Tag of the language."""
    kinds: tuple[PaperKind, ...] = (PaperKind.FAMILY,)
    """The papers."""
    back_on: date | Absent = field(default_factory=lambda: Absent(reason="No day is set yet."))
    """Day of the next visit, or absent where none is set."""


@dataclass(frozen=True, kw_only=True)
class HandedPaper:
    """A paper, ready to be written or sent."""

    name: str
    """Name of its file."""
    content: bytes
    """What the file holds."""


@dataclass(frozen=True, kw_only=True)
class FamilyDrill:
    """One drill as the family reads it."""

    name: str
    """Name of the drill."""
    dose: str
    """How often and how many: `3 times a week, 10 throws`."""
    figure: str = ""
    """Drawing as SVG text made by this house, or an empty text."""


@dataclass(frozen=True, kw_only=True)
class NextSteps:
    """What was agreed for the time after the visit."""

    drills: tuple[FamilyDrill, ...] = ()
    """The drills; empty leaves lines to write on."""
    retest_on: date | Absent = field(default_factory=lambda: Absent(reason="No day is set yet."))
    """Day of the retest; absent leaves a line to write on."""
    rules: tuple[str, ...] = ()
    """Sentences on throwing until then, such as pitch counts and rest days."""
    is_held: bool = False
    """Whether a warning sign stops throwing and drills until a clinician releases it."""


@dataclass(frozen=True, kw_only=True)
class PlainItem:
    """One message in plain words."""

    title: str
    """Two or three words: `Elbow height`."""
    says: str
    """One sentence that says what was seen."""
    cue: str
    """One or two short sentences that say what to try; empty where nothing is to change."""
    today: str
    """The value in words with its give or take, or an empty text."""
    wanted: str
    """The limits in words, or an empty text."""
    part: BodyPart
    """What the drawing makes stand out."""
    instant: InstantName | Absent
    """Moment that the drawing shows."""


@dataclass(frozen=True, kw_only=True)
class FamilyPage:
    """The family page in plain words, before it is laid out."""

    name: str
    """Name of the athlete, as given; never translated."""
    made_on: date
    """Day of the visit."""
    opening: tuple[str, ...]
    """One to three sentences that say what was done."""
    good: tuple[PlainItem, ...]
    """What looks good, at most three."""
    work: tuple[PlainItem, ...]
    """What to work on, at most three, most important first."""
    again: tuple[str, ...]
    """Titles of what was too close to call, at most three."""
    steps: NextSteps
    """Drills, retest and rules."""
    signs: tuple[str, ...]
    """Warning signs."""
    cautions: tuple[str, ...]
    """What the sheet is and is not."""
    gaps: tuple[str, ...] = ()
    """Why nothing could be measured and what to do; empty where something was."""
