"""The plan of some weeks as a constraint model: choices, rules with a switch each, and the cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

from ortools.sat.python.cp_model import CpModel, CpSolver, IntVar, LinearExprT

from elbowroom.core.plan.rest import count_rest_days
from elbowroom.core.plan.week import (
    ONE_DAY,
    WEEK_DAYS,
    Conflict,
    PlanDay,
    PlanRule,
    WeekRequest,
    build_game_days,
    is_catching_forbidden,
)
from elbowroom.core.plan.week_cost import (
    AFTER_WEIGHT,
    DRILLS_ALONE_WEIGHT,
    DRILLS_WEIGHT,
    PITCHING_WEIGHT,
    SMALL_WEIGHT,
    THROWING_WEIGHT,
    is_after_pitching,
)
from elbowroom.core.plan.week_words import explain_games, explain_off, explain_rule


@dataclass(frozen=True, kw_only=True)
class DayChoice:
    """What the solver may choose on one day."""

    fixed: PlanDay
    """The day with its games."""
    game: IntVar
    """Whether the games are played: the switch that keeps them."""
    practice: dict[int, IntVar]
    """Whether there is a mound practice, by its pitches."""
    throwing: IntVar
    """Whether there is a throwing practice."""
    drills: IntVar
    """Whether there are drills."""

    @property
    def pitching(self) -> list[tuple[IntVar, int]]:
        """Each way to pitch on the day, with its pitches; at most one is chosen."""
        game = [(self.game, self.fixed.pitches)] if self.fixed.pitches else []
        return [*game, *((chosen, size) for size, chosen in self.practice.items())]

    @property
    def active(self) -> list[IntVar]:
        """Each way to throw on the day; at most one is chosen."""
        game = [self.game] if self.fixed.games else []
        return [*game, *self.practice.values(), self.throwing]


class WeekModel:
    """A constraint model of one request; every rule has a switch."""

    def __init__(self, request: WeekRequest) -> None:
        self.request = request
        self.model = CpModel()
        self.switches: dict[Conflict, IntVar] = {}
        self.choices = [self._add_day(day) for day in build_game_days(request).values()]
        for add in (self._add_limits, self._add_rest, self._add_rows, self._add_off, self._add_free, self._add_stage):
            add()

    def add_cost(self) -> None:
        """Let the solver look for the plan of least cost, as `compute_plan_cost` states it."""
        wishes, terms = self.request.wishes, list[LinearExprT]()
        for week in (week for week in self.request.weeks if len(week) == WEEK_DAYS):
            held = [choice for choice in self.choices if choice.fixed.day in week]
            pitching = [way for choice in held for way, _ in choice.pitching]
            for weight, chosen, wished in (
                (PITCHING_WEIGHT, pitching, wishes.pitching_days),
                (THROWING_WEIGHT, [choice.throwing for choice in held], wishes.throwing_days),
                (DRILLS_WEIGHT, [choice.drills for choice in held], wishes.drill_days),
            ):
                missing = self.model.new_int_var(0, max(wished, 0), "")
                self.model.add(missing >= wished - sum(chosen))
                terms.append(weight * missing)
        self.model.minimize(sum([*terms, *self._list_small_costs(), self._add_peak()]))

    def read_days(self, solver: CpSolver) -> tuple[PlanDay, ...]:
        """Return the days that the solver chose."""
        return tuple(
            PlanDay(
                day=choice.fixed.day,
                game_pitches=choice.fixed.game_pitches,
                innings_caught=choice.fixed.innings_caught,
                games=choice.fixed.games,
                practice_pitches=sum(size * solver.value(chosen) for size, chosen in choice.practice.items()),
                throws=self.request.wishes.throws * solver.value(choice.throwing),
                has_drills=bool(solver.value(choice.drills)),
            )
            for choice in self.choices
        )

    def _add_day(self, fixed: PlanDay) -> DayChoice:
        new = self.model.new_bool_var
        game = self._get_switch(PlanRule.GAME, explain_games(self.request, fixed.day)) if fixed.games else new("")
        choice = DayChoice(
            fixed=fixed,
            game=game,
            practice={size: new("") for size in self.request.wishes.pitch_sizes if size > 0},
            throwing=new(""),
            drills=new(""),
        )
        self.model.add_at_most_one(choice.active)
        return choice

    def _get_switch(self, rule: PlanRule, words: str = "") -> IntVar:
        conflict = Conflict(rule=rule, words=words or explain_rule(rule, self.request))
        if conflict not in self.switches:
            self.switches[conflict] = self.model.new_bool_var(conflict.words)
        return self.switches[conflict]

    def _forbid(self, ways: Sequence[IntVar], switch: IntVar) -> None:
        """Let not all of these ways be chosen together while the switch is on."""
        self.model.add_bool_or([*(way.negated() for way in ways), switch.negated()])

    def _add_limits(self) -> None:
        rules = self.request.rules
        for choice in self.choices:
            innings = choice.fixed.innings_caught
            pitched = sum(game.pitches > 0 for game in self.request.games if game.day == choice.fixed.day)
            for way, pitches in choice.pitching:
                if pitches > rules.daily_most:
                    self._forbid([way], self._get_switch(PlanRule.DAILY_LIMIT))
                if innings and is_catching_forbidden(rules, pitches, innings):
                    self._forbid([way, choice.game], self._get_switch(PlanRule.PITCH_AND_CATCH))
            if 0 < rules.games_most < pitched:
                self._forbid([choice.game], self._get_switch(PlanRule.GAMES_A_DAY))

    def _add_rest(self) -> None:
        switch, row = self._get_switch(PlanRule.REST_DAYS), self.request.rules.row
        for past in self.request.past:
            for way in self._list_pitching(past.day, past.rest_days):
                self._forbid([way], switch)
        for choice in self.choices:
            for earlier, pitches in choice.pitching:
                for later in self._list_pitching(choice.fixed.day, count_rest_days(row, pitches)):
                    self._forbid([earlier, later], switch)

    def _list_pitching(self, after: date, days: int) -> list[IntVar]:
        """Return each way to pitch on the days that follow a day."""
        held = [choice for choice in self.choices if ONE_DAY <= choice.fixed.day - after <= days * ONE_DAY]
        return [way for choice in held for way, _ in choice.pitching]

    def _add_rows(self) -> None:
        most = self.request.rules.consecutive_most
        if most == 0:
            return
        switch = self._get_switch(PlanRule.CONSECUTIVE)
        before = {past.day for past in self.request.past if past.pitches}
        for choice in self.choices:
            span = [choice.fixed.day - back * ONE_DAY for back in range(most + 1)]
            ways = [way for item in self.choices if item.fixed.day in span for way, _ in item.pitching]
            gone = sum(day in before for day in span)
            self.model.add(sum(ways) + gone <= most).only_enforce_if(switch)

    def _add_off(self) -> None:
        for off in self.request.off:
            switch = self._get_switch(PlanRule.TIME_OFF, explain_off(off))
            held = [choice for choice in self.choices if off.first_day <= choice.fixed.day <= off.last_day]
            for way in (way for choice in held for way in (*choice.active, choice.drills)):
                self._forbid([way], switch)

    def _add_free(self) -> None:
        switch, free_days = self._get_switch(PlanRule.FREE_DAYS), self.request.wishes.free_days
        for week in (week for week in self.request.weeks if len(week) == WEEK_DAYS):
            ways = [way for choice in self.choices if choice.fixed.day in week for way in choice.active]
            self.model.add(sum(ways) <= WEEK_DAYS - free_days).only_enforce_if(switch)

    def _add_stage(self) -> None:
        stage = self.request.stage
        if stage is None:
            return
        for place, choice in enumerate(self.choices):
            for way, _ in choice.pitching if not stage.may_pitch else ():
                self._forbid([way], self._get_switch(PlanRule.NO_PITCHING_YET))
            later = [way for item in self.choices[place + 1 : place + 1 + stage.gap_days] for way in item.active]
            for ways in product(choice.active, later):
                self._forbid(ways, self._get_switch(PlanRule.GAP))

    def _list_small_costs(self) -> list[LinearExprT]:
        terms: list[LinearExprT] = []
        best = max(self.request.wishes.pitch_sizes, default=0)
        for before, choice in zip([None, *self.choices[:-1]], self.choices, strict=True):
            terms += [SMALL_WEIGHT * (best - size) * chosen for size, chosen in choice.practice.items()]
            alone = self.model.new_bool_var("")
            self.model.add(alone >= choice.drills - choice.throwing)
            terms.append(DRILLS_ALONE_WEIGHT * alone)
            if before is not None:
                after = self.model.new_bool_var("")
                self.model.add(after >= sum(way for way, _ in before.pitching) + choice.throwing - 1)
                terms.append(AFTER_WEIGHT * after)
            elif is_after_pitching(self.request):
                terms.append(AFTER_WEIGHT * choice.throwing)
        return terms

    def _add_peak(self) -> IntVar:
        throws = self.request.wishes.throws
        counts = [
            sum(pitches * way for way, pitches in choice.pitching) + throws * choice.throwing for choice in self.choices
        ]
        most = sum(choice.fixed.pitches for choice in self.choices) + len(counts) * (
            throws + max(self.request.wishes.pitch_sizes, default=0)
        )
        peak = self.model.new_int_var(0, most, "peak")
        for start in range(max(1, len(counts) - WEEK_DAYS + 1)):
            self.model.add(peak >= sum(counts[start : start + WEEK_DAYS]))
        return peak
