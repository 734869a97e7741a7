"""A plan in sentences: what each day is for, why a day is free, and what to talk about when nothing fits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from elbowroom.core.plan.day_words import phrase_count, phrase_day, phrase_rest
from elbowroom.core.plan.rest import count_rest_days
from elbowroom.core.plan.week import NoFit, PastDay, PlanDay, PlanRule, TimeOff, WeekRequest

ONE_DAY = timedelta(days=1)


def explain_days(days: Sequence[PlanDay], request: WeekRequest) -> tuple[str, ...]:
    """Return a sentence for each day of a plan: what is to be done, or why nothing is thrown."""
    pitched = [
        *request.past,
        *(
            PastDay(day=day.day, pitches=day.pitches, rest_days=count_rest_days(request.rules.row, day.pitches))
            for day in days
            if day.pitches
        ),
    ]
    return tuple(_explain_day(day, pitched, request) for day in days)


def explain_no_fit(answer: NoFit) -> str:
    """Return the sentence that says which rules and games cannot be kept together."""
    if len(answer.conflicts) == 1:
        return f"No plan fits, because of one thing alone: {answer.conflicts[0].words}"
    listed = " ".join(f"({number}) {item.words}" for number, item in enumerate(answer.conflicts, 1))
    return f"No plan fits. These cannot all be kept, and leaving out any one of them would do: {listed}"


def explain_rule(rule: PlanRule, request: WeekRequest) -> str:
    """Return what a rule of the plan asks, in a sentence that one can talk about."""
    rules, stage = request.rules, request.stage
    words = "" if stage is None else stage.words
    gap = 0 if stage is None else stage.gap_days
    match rule:
        case PlanRule.DAILY_LIMIT:
            return f"At most {rules.daily_most} pitches a day ({rules.table})."
        case PlanRule.REST_DAYS:
            return f"The days of rest after pitching ({rules.table})."
        case PlanRule.CONSECUTIVE:
            return f"No pitching on {rules.consecutive_most + 1} days in a row."
        case PlanRule.PITCH_AND_CATCH:
            return "No pitching and catching on one day."
        case PlanRule.GAMES_A_DAY:
            return f"Pitching in at most {phrase_count(rules.games_most, 'game')} on one day."
        case PlanRule.FREE_DAYS:
            return f"At least {phrase_count(request.wishes.free_days, 'day')} of each week without any throw."
        case PlanRule.NO_PITCHING_YET:
            return f"No pitching at this stage of the return ({words})."
        case PlanRule.GAP:
            return f"At least {phrase_count(gap, 'day')} between throwing days at this stage of the return ({words})."
        case PlanRule.ONE_A_DAY:
            return "One practice or game a day."
        case PlanRule.TIME_OFF | PlanRule.GAME:
            return f"{rule}."


def explain_games(request: WeekRequest, day: date) -> str:
    """Return the fixed games of a day in a sentence."""
    games = [game for game in request.games if game.day == day]
    parts = [
        f"{game.team}, {phrase_count(game.pitches, 'pitch', 'pitches')}"
        + (f", {phrase_count(game.innings_caught, 'inning')} caught" if game.innings_caught else "")
        for game in games
    ]
    return f"The game on {phrase_day(day)} ({'; '.join(parts)})."


def explain_off(off: TimeOff) -> str:
    """Return a time off in a sentence."""
    return f"No throwing from {phrase_day(off.first_day)} to {phrase_day(off.last_day)}: {off.reason}."


def _explain_day(day: PlanDay, pitched: Sequence[PastDay], request: WeekRequest) -> str:
    said = _list_doings(day, request)
    if day.pitches:
        owed = count_rest_days(request.rules.row, day.pitches)
        return f"{said}; {phrase_rest(owed)} after it." if owed else f"{said}."
    why = _explain_rest(day, pitched, request)
    if not said:
        return why
    return f"{said}. {why}" if why.startswith("No pitching") else f"{said}."


def _list_doings(day: PlanDay, request: WeekRequest) -> str:
    parts = []
    if day.games:
        parts.append(explain_games(request, day.day).removeprefix("The game on ").rstrip(".").split(" (", 1)[1][:-1])
    if day.practice_pitches:
        parts.append(f"{day.practice_pitches} pitches in practice")
    if day.throws:
        parts.append(f"{day.throws} throws")
    text = ("Game: " if day.games else "") + ", ".join(parts)
    if day.has_drills:
        text += " and drills" if text else "Drills without throwing"
    return text[:1].upper() + text[1:]


def _explain_rest(day: PlanDay, pitched: Sequence[PastDay], request: WeekRequest) -> str:
    """Return why nothing is pitched, or nothing thrown, on a day."""
    for off in request.off:
        if off.first_day <= day.day <= off.last_day:
            return f"No throwing: {off.reason}."
    owed = [past for past in pitched if timedelta(0) < day.day - past.day <= past.rest_days * ONE_DAY]
    if owed:
        last = owed[-1]
        count = phrase_count(last.pitches, "pitch", "pitches")
        return f"No pitching: {phrase_rest(last.rest_days)} owed after {count} on {phrase_day(last.day)}."
    if request.stage is not None and request.stage.gap_days:
        return f"No throwing: a day between throwing days at this stage of the return ({request.stage.words})."
    most = request.rules.consecutive_most
    if most and all(any(past.day == day.day - back * ONE_DAY for past in pitched) for back in range(1, most + 1)):
        return f"No pitching on {most + 1} days in a row."
    return f"No throwing: one of at least {request.wishes.free_days} such days a week; what was wished for is placed."
