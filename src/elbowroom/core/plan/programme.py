"""Graded programmes of a return to throwing: steps, soreness rules, and where an athlete stands in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from elbowroom.core.plan.day_words import phrase_count, phrase_day
from elbowroom.core.quantities.types import Absent

ONE_DAY = timedelta(days=1)
MOST_TRIES = 3
"""After so many work-outs in a row without going on, a clinician decides (chosen by this project)."""


class StepKind(StrEnum):
    """What a step of a programme is."""

    FLAT = "throws on flat ground"
    MOUND = "throws from a mound"
    GAME = "simulated game or full work-out"


@dataclass(frozen=True, kw_only=True)
class ProgrammeStep:
    """One step of a programme."""

    number: int
    """From 1, in order."""
    words: str
    """Name of the step as the sheet prints it."""
    kind: StepKind
    """Flat ground, mound or game."""
    throws: tuple[int, ...]
    """Throws of each set; empty for a game."""
    distances_ft: tuple[float, ...]
    """Distance of each set in feet, as printed; empty for a game."""
    intensity: str
    """Effort in words, as printed."""
    repeat_count: int
    """How often the step is done without soreness before the next."""
    must_rescreen: bool
    """Whether the mechanics are filmed again before this step (chosen by this project)."""
    mark: str
    """How the row is known."""
    source: str
    """Where the row comes from."""
    note: str
    """What else the sheet says; empty where nothing."""

    @property
    def throw_count(self) -> int:
        """Throws of all sets."""
        return sum(self.throws)


@dataclass(frozen=True, kw_only=True)
class Programme:
    """A graded programme for an age."""

    key: str
    """Name in files."""
    words: str
    """Name on screens and paper."""
    ages_years: tuple[int, int]
    """Youngest and oldest age that it is for, inclusive."""
    gap_days: int
    """Days without throwing between two work-outs."""
    steps: tuple[ProgrammeStep, ...]
    """The steps, in order."""


@dataclass(frozen=True, kw_only=True)
class SorenessRule:
    """What to do after an answer about soreness."""

    key: str
    """Name in files."""
    words: str
    """What the athlete says."""
    days_off: int
    """Days without throwing after the day of the work-out."""
    step_change: int
    """1 goes on, 0 repeats, -1 goes back a step."""
    is_hold: bool
    """Whether a clinician has to see the athlete before the next throw."""
    action: str
    """What to do, in a sentence."""
    mark: str
    """How the rule is known; most of them from memory."""
    source: str
    """Where it comes from."""


@dataclass(frozen=True, kw_only=True)
class StepDone:
    """A work-out that was done, and what the arm said."""

    day: date
    """Day of the work-out."""
    step: int
    """Number of the step."""
    answer: str
    """Key of the soreness rule that applies."""


@dataclass(frozen=True, kw_only=True)
class StepSet:
    """A clinician's override: the step that holds from a day on, whatever the rules said."""

    day: date
    """The day."""
    step: int
    """Number of the step."""
    by: str
    """Name of the clinician."""
    reason: str
    """Why, in the words of the clinician."""


@dataclass(frozen=True, kw_only=True)
class Rescreened:
    """The mechanics were filmed again."""

    day: date
    """The day."""


CourseEvent = StepDone | StepSet | Rescreened


@dataclass(frozen=True, kw_only=True)
class ReturnState:
    """Where an athlete stands in a programme."""

    step: int
    """Number of the step that is next."""
    next_day: date
    """First day on which it may be done."""
    done_count: int
    """How often it was done without soreness already."""
    try_count: int
    """Work-outs in a row that did not lead on."""
    hold: str
    """Why nothing may be thrown until a clinician decides; empty where nothing hinders."""
    is_rescreened: bool
    """Whether the mechanics were filmed since this step was reached."""
    is_finished: bool
    """Whether the last step is done."""
    sentence: str
    """All that in a sentence."""

    @property
    def is_held(self) -> bool:
        """Whether nothing may be thrown for now."""
        return bool(self.hold)


def choose_programme(programmes: Sequence[Programme], age_years: int) -> Programme | Absent:
    """Return the first programme for an age in completed years, or that there is none."""
    found = [item for item in programmes if item.ages_years[0] <= age_years <= item.ages_years[1]]
    if found:
        return found[0]
    return Absent(
        reason=f"No programme at hand is for {age_years} years.",
        advice="A clinician decides on each throw; check the day of birth.",
    )


def phrase_step(step: ProgrammeStep) -> str:
    """Return a step in words: `phase 3: 15 + 20 + 20 throws at 50 ft, 70 %`."""
    if not step.throws:
        return f"{step.words}: {step.kind}"
    throws = " + ".join(str(count) for count in step.throws)
    feet = [f"{distance:g}" for distance in step.distances_ft]
    far = feet[0] if len(set(feet)) == 1 else " / ".join(feet)
    ground = " from a mound" if step.kind is StepKind.MOUND else ""
    effort = f", {step.intensity}" if step.intensity else ""
    return f"{step.words}: {throws} throws at {far} ft{ground}{effort}"


def begin_course(programme: Programme, on: date, step: int = 1) -> ReturnState:
    """Return the state of an athlete who begins a programme on a day, at a step that a clinician names."""
    return _build_state(programme, step=step, next_day=on)


def derive_state(
    programme: Programme, rules: Sequence[SorenessRule], begun_on: date, events: Sequence[CourseEvent]
) -> ReturnState:
    """Return where an athlete stands after everything that was recorded, taken by day and then in the order given.

    The rules lead on, repeat, go back or hold by themselves; only a clinician's override ends a hold or leads past a
    step.
    """
    state = begin_course(programme, begun_on)
    for event in sorted(events, key=lambda item: item.day):
        state = _take_event(programme, rules, state, event)
    return state


def find_event_problem(programme: Programme, state: ReturnState, event: StepDone) -> str:
    """Return why a work-out cannot be what was due, in a clause; empty where it can."""
    if state.is_finished:
        return "the programme is finished already"
    if state.is_held:
        return f"throwing is on hold ({state.hold}): a clinician decides first"
    if event.step != state.step:
        return f"step {event.step} was not due but step {state.step}: name that one, or let a clinician set the step"
    if event.day < state.next_day:
        return f"the next work-out was due on {phrase_day(state.next_day)} at the earliest: check the day"
    return ""


def _take_event(
    programme: Programme, rules: Sequence[SorenessRule], state: ReturnState, event: CourseEvent
) -> ReturnState:
    match event:
        case StepDone():
            (rule,) = [rule for rule in rules if rule.key == event.answer]
            return _take_work_out(programme, state, event, rule)
        case StepSet():
            return _build_state(programme, step=event.step, next_day=event.day, is_rescreened=True)
        case Rescreened():
            return _build_state(
                programme,
                step=state.step,
                next_day=max(state.next_day, event.day),
                counts=(state.done_count, state.try_count),
                is_rescreened=True,
                kept_hold="" if state.hold.startswith(FILM) else state.hold,
            )


FILM = "film the throws"
"""How a hold begins that filming ends."""


def _take_work_out(programme: Programme, state: ReturnState, event: StepDone, rule: SorenessRule) -> ReturnState:
    next_day = event.day + (1 + max(rule.days_off, programme.gap_days)) * ONE_DAY
    step = programme.steps[state.step - 1]
    done = state.done_count + (rule.step_change > 0)
    if rule.step_change > 0 and done >= step.repeat_count:
        return _build_state(programme, step=state.step + 1, next_day=next_day)
    tries = 0 if rule.step_change > 0 else state.try_count + 1
    hold = ""
    if rule.is_hold:
        hold = f"{rule.words} on {phrase_day(event.day)}"
    elif tries >= MOST_TRIES:
        hold = f"{phrase_count(tries, 'work-out')} in a row without going on"
    return _build_state(
        programme,
        step=max(1, state.step + min(rule.step_change, 0)),
        next_day=next_day,
        counts=(done if rule.step_change > 0 else 0, tries),
        is_rescreened=True,
        kept_hold=hold,
    )


def _build_state(
    programme: Programme,
    *,
    step: int,
    next_day: date,
    counts: tuple[int, int] = (0, 0),
    is_rescreened: bool = False,
    kept_hold: str = "",
) -> ReturnState:
    """Return a state with its sentence; `counts` are the times done without soreness and the tries that led nowhere."""
    is_finished = step > len(programme.steps)
    due = programme.steps[min(step, len(programme.steps)) - 1]
    hold = kept_hold
    if not hold and not is_finished and due.must_rescreen and not is_rescreened:
        hold = f"{FILM} again before {due.words}"
    return ReturnState(
        step=min(step, len(programme.steps)),
        next_day=next_day,
        done_count=counts[0],
        try_count=counts[1],
        hold=hold,
        is_rescreened=is_rescreened,
        is_finished=is_finished,
        sentence=_phrase_state(due, next_day, counts[0], hold, is_finished),
    )


def _phrase_state(due: ProgrammeStep, next_day: date, done_count: int, hold: str, is_finished: bool) -> str:
    if is_finished:
        return "The programme is done; a clinician releases the athlete for games."
    if hold:
        return f"On hold: {hold}. No throwing until a clinician decides."
    left = due.repeat_count - done_count
    times = f", {phrase_count(left, 'time')} more without soreness" if due.repeat_count > 1 else ""
    return f"Next, from {phrase_day(next_day)} on: {phrase_step(due)}{times}."
