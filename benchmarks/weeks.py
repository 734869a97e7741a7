"""Times of laying out weeks of throwing, by the number of days and of games; same requests on every run."""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from benchmarks.machine import describe_machine, render_machine, render_table
from elbowroom.adapters.tables.rest import read_rest_tables
from elbowroom.adapters.weeks.solver import CpSatWeeks
from elbowroom.core.plan.rest import RestRules, choose_rest_rules
from elbowroom.core.plan.week import FixedGame, LaidOut, WeekRequest, Wishes

MONDAY = date(2026, 5, 4)
SEED = 5


def main() -> None:
    """Lay out plans and print the times."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=12, help="requests of each size")
    given = parser.parse_args()
    print(render_machine(describe_machine()))
    rng = np.random.default_rng(SEED)
    rows = [measure_size(days, games, given.requests, rng) for days in (7, 14, 28) for games in (0, 4, 8)]
    print(render_table(("days", "games", "median s", "longest s", "laid out", "shown best", "no fit"), rows))


def measure_size(days: int, games: int, count: int, rng: np.random.Generator) -> tuple[str, ...]:
    """Return a line of the table: times and outcomes of `count` requests of one size."""
    times, answers = [], []
    for _ in range(count):
        request = make_request(days, games, rng)
        started_s = time.perf_counter()
        answers.append(CpSatWeeks().find_plan(request))
        times.append(time.perf_counter() - started_s)
    fits = [answer for answer in answers if isinstance(answer, LaidOut)]
    best = sum(answer.is_best for answer in fits)
    numbers = (len(fits), best, len(answers) - len(fits))
    return (str(days), str(games), f"{np.median(times):.2f}", f"{max(times):.2f}", *(str(number) for number in numbers))


def make_request(days: int, games: int, rng: np.random.Generator) -> WeekRequest:
    """Return a request of a twelve-year-old with games on random days and random wishes."""
    (table,) = [one for one in read_rest_tables() if one.key == "us-national-newer"]
    rules = choose_rest_rules(table, 12)
    assert isinstance(rules, RestRules)
    on = rng.choice(days, size=min(games, days // 3), replace=False)
    fixed = tuple(
        FixedGame(day=MONDAY + timedelta(days=int(day)), team="Herons", pitches=int(rng.choice([0, 15, 30, 45])))
        for day in on
    )
    wishes = Wishes(pitching_days=int(rng.integers(1, 4)), throwing_days=int(rng.integers(1, 5)))
    request = WeekRequest(first_day=MONDAY, day_count=days, rules=rules, wishes=wishes)
    return replace(request, games=fixed)


if __name__ == "__main__":
    main()
