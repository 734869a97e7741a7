"""Games, time off and sizes of practices as people type them, one a line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import TypeVar

from elbowroom.core.plan.week import FixedGame, TimeOff
from elbowroom.errors import PlanError

Read = TypeVar("Read")
GAME_FORM = "2026-05-09, Herons, 55 (day, team, pitches, and innings caught where there are any)"
OFF_FORM = "2026-06-01, 2026-06-14, school holidays (first day, last day, reason)"


def read_games(lines: Iterable[str]) -> tuple[FixedGame, ...]:
    """Return the games that lines of text name; raises `PlanError` with the first line that cannot be read."""
    return _read_lines(lines, _read_game, GAME_FORM)


def read_times_off(lines: Iterable[str]) -> tuple[TimeOff, ...]:
    """Return the times off that lines of text name; raises `PlanError` with the first line that cannot be read."""
    return _read_lines(lines, _read_off, OFF_FORM)


def read_sizes(text: str) -> tuple[int, ...]:
    """Return the pitches of practices from the mound, such as `20, 35`; raises `PlanError`."""
    try:
        return tuple(sorted(int(part) for part in text.replace(";", ",").split(",") if part.strip()))
    except ValueError as e:
        raise PlanError(f"{text!r} are no pitches of practices: write numbers such as 20, 35.") from e


def _read_lines(lines: Iterable[str], read: Callable[[list[str]], Read], form: str) -> tuple[Read, ...]:
    found = []
    for line in (line.strip() for line in lines):
        if not line:
            continue
        try:
            found.append(read([part.strip() for part in line.split(",")]))
        except (ValueError, IndexError) as e:
            raise PlanError(f"{line!r} cannot be read: write {form}.") from e
    return tuple(found)


def _read_game(parts: list[str]) -> FixedGame:
    innings = int(parts[3]) if len(parts) > 3 else 0
    return FixedGame(day=date.fromisoformat(parts[0]), team=parts[1], pitches=int(parts[2]), innings_caught=innings)


def _read_off(parts: list[str]) -> TimeOff:
    reason = ", ".join(parts[2:]) or "time off"
    return TimeOff(first_day=date.fromisoformat(parts[0]), last_day=date.fromisoformat(parts[1]), reason=reason)
