"""Warning signs: what stops throwing tests, drills and plans until a clinician releases it by name and reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from elbowroom.core.plan.intake import Answer, BodySide, Intake, Pain, PainMoment, PainPlace
from elbowroom.errors import HoldError


class Urgency(StrEnum):
    """How soon an athlete has to be examined."""

    TODAY = "today"
    BEFORE_THROWING = "before throwing again"


@dataclass(frozen=True, kw_only=True)
class WarningSign:
    """One row of the table of warning signs: a question, or a pattern of pain."""

    key: str
    """Key of the sign; the answer to its question stands under it."""
    question: str
    """The question as the family reads it; empty for a sign that follows from the pains."""
    places: tuple[PainPlace, ...]
    """For a pattern of pain: where; empty for anywhere."""
    moments: tuple[PainMoment, ...]
    """For a pattern of pain: when, one of these; empty for any time."""
    sides: tuple[BodySide, ...]
    """For a pattern of pain: which sides; empty for both."""
    least_worst: int
    """For a pattern of pain: lowest score that counts."""
    least_days: int
    """For a pattern of pain: fewest days that it has lasted."""
    ages_years: tuple[float, float]
    """Youngest and oldest age that it holds for, in completed years, inclusive."""
    urgency: Urgency
    """How soon the athlete has to be examined."""
    clinician: str
    """What it may mean, for the clinician; one sentence."""
    family: str
    """What to do, in plain words for the family; one or two sentences."""
    source: str
    """Where the sign comes from."""
    mark: str
    """How it is known: seen, from memory, and so on."""
    version: str
    """Version of the table."""


@dataclass(frozen=True, kw_only=True)
class HoldReason:
    """One warning sign that shows."""

    sign: WarningSign
    """The sign."""
    because: str
    """What in the intake shows it, a clause."""


@dataclass(frozen=True, kw_only=True)
class Release:
    """What a clinician released, by name and reason."""

    signs: tuple[str, ...]
    """Keys of the signs."""
    by: str
    """Name of the clinician."""
    on: date
    """Day of the release."""
    reason: str
    """Why throwing is allowed again."""


@dataclass(frozen=True, kw_only=True)
class Clear:
    """Every question was asked and no warning sign shows."""

    reason: str
    """One sentence."""


@dataclass(frozen=True, kw_only=True)
class Hold:
    """Throwing tests, drills and plans are stopped."""

    reasons: tuple[HoldReason, ...]
    """The signs that show, the most urgent first."""

    @property
    def reason(self) -> str:
        """One sentence that names every sign."""
        return f"On hold: {'; '.join(item.because for item in self.reasons)}."


@dataclass(frozen=True, kw_only=True)
class Released:
    """There was a hold, and a named clinician released all of it."""

    hold: Hold
    """The hold that was released."""
    releases: tuple[Release, ...]
    """Who released it, when and why."""

    @property
    def reason(self) -> str:
        """One sentence with names and reasons."""
        words = "; ".join(f"{item.by} on {item.on}: {item.reason.rstrip('.')}" for item in self.releases)
        return f"Released by {words}."


Standing = Clear | Hold | Released
"""Whether an athlete may be tested and given a plan."""


def judge_intake(intake: Intake, signs: Sequence[WarningSign]) -> Clear | Hold:
    """Return whether a warning sign shows; a question that was not asked stops as a yes does."""
    reasons = [reason for sign in signs for reason in _find_reasons(intake, sign)]
    if not reasons:
        return Clear(reason="All warning signs were asked for and none shows.")
    order = list(Urgency)
    return Hold(reasons=tuple(sorted(reasons, key=lambda item: (order.index(item.sign.urgency), item.sign.key))))


def apply_releases(standing: Standing, releases: Sequence[Release]) -> Standing:
    """Return the standing after releases: a hold stays for every sign that none of them names."""
    if not isinstance(standing, Hold):
        return standing
    released = {key for release in releases for key in release.signs}
    left = tuple(item for item in standing.reasons if item.sign.key not in released)
    if left:
        return Hold(reasons=left)
    return Released(hold=standing, releases=tuple(releases))


def check_not_held(standing: Standing, what: str) -> None:
    """Raise `HoldError` with what to do where an athlete is on hold; `what` is what was asked for, in the plural."""
    if isinstance(standing, Hold):
        raise HoldError(phrase_hold(standing, what))


def phrase_hold(hold: Hold, what: str) -> str:
    """Return the sentence with which throwing tests, drills or plans are refused."""
    signs = "; ".join(item.because for item in hold.reasons)
    return (
        f"No {what} while a warning sign shows ({signs}): a clinician has to examine the athlete and release the hold "
        "by name and reason."
    )


def list_family_words(hold: Hold) -> tuple[str, ...]:
    """Return what the family is told, the most urgent first, nothing twice."""
    first = "For now: no throwing. This is not a diagnosis; it means that somebody who may examine has to look first."
    return tuple(dict.fromkeys((first, *(item.sign.family for item in hold.reasons))))


def _find_reasons(intake: Intake, sign: WarningSign) -> Iterator[HoldReason]:
    if not sign.ages_years[0] <= int(intake.age_years) <= sign.ages_years[1]:
        return
    if sign.question:
        answer = intake.answers.get(sign.key, Answer.NOT_ASKED)
        if answer is not Answer.NO:
            words = "was not asked" if answer is Answer.NOT_ASKED else "was answered with yes"
            yield HoldReason(sign=sign, because=f'"{sign.question}" {words}')
        return
    pains = [pain for pain in intake.pains if is_pattern(sign, pain)]
    if pains:
        yield HoldReason(sign=sign, because=describe_pain(pains[0]))


def is_pattern(sign: WarningSign, pain: Pain) -> bool:
    """Say whether a pain has the pattern of a sign."""
    return (
        (not sign.places or pain.place in sign.places)
        and (not sign.sides or pain.side in sign.sides)
        and (not sign.moments or bool(set(sign.moments) & set(pain.moments)))
        and pain.worst >= max(1, sign.least_worst)
        and pain.days >= sign.least_days
    )


def describe_pain(pain: Pain) -> str:
    """Return a pain as a clause: `pain, inner elbow of the throwing side, at release, 4 of 10, for 9 days`."""
    when = f", {', '.join(pain.moments)}" if pain.moments else ""
    return f"pain, {pain.place} of the {pain.side}{when}, {pain.worst} of 10, for {pain.days} days"
