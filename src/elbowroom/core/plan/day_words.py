"""Days and small numbers as the sentences of the plan write them."""

from __future__ import annotations

from datetime import date

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September", "October"),
    *("November", "December"),
)


def phrase_day(day: date) -> str:
    """Return a day with its weekday: `Thursday 7 May`."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def phrase_count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun: `1 pitch`, `2 pitches`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def phrase_rest(days: int) -> str:
    """Return days of rest in words: `no day of rest`, `1 day's rest`, `2 days' rest`."""
    if days == 0:
        return "no day of rest"
    return "1 day's rest" if days == 1 else f"{days} days' rest"
