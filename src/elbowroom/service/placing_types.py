"""What is asked before filming, and what is answered."""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.core.chain.predicting import FilmingPlan
from elbowroom.core.findings.report import AthleteCard
from elbowroom.core.quantities.types import Obtained


@dataclass(frozen=True, kw_only=True)
class FilmingRequest:
    """Who will be filmed, and from where."""

    athlete: AthleteCard
    """Who will throw."""
    plan: FilmingPlan
    """Where the phones will stand, with y to the left of the line to the target whatever the hand."""


@dataclass(frozen=True, kw_only=True)
class ExpectedMeasure:
    """One headline measure as the planned phones would give it on a typical throw."""

    words: str
    """The measure in words."""
    spread: str
    """Its interval in words, such as: give or take 9 deg (95 %)."""
    dominant: str
    """What makes most of it, in words; empty where nothing does."""
    expected: Obtained
    """The measure with its budget; its value is the typical throw's and means nothing for an athlete."""


@dataclass(frozen=True, kw_only=True)
class FilmingAdvice:
    """What the planned phones will measure, and what would do better."""

    request: FilmingRequest
    """What was asked."""
    measures: tuple[ExpectedMeasure, ...]
    """The four headline measures; empty where nothing could be measured."""
    refusal: str
    """Why the phones as planned could measure nothing, with what to do; empty where they can."""
    moves: tuple[str, ...]
    """What to move or lay out, the most useful first, each with what it would bring."""
    steps: tuple[str, ...]
    """How to film, a sentence each."""
    caution: str
    """The caution that goes with all papers of the tool."""
