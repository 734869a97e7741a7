"""In-memory doubles of the Protocols in `week_ports`."""

from __future__ import annotations

from elbowroom.core.plan.week import Conflict, LaidOut, NoFit, WeekRequest, build_game_days, find_breaches
from elbowroom.core.plan.week_cost import compute_plan_cost
from elbowroom.core.plan.week_words import explain_rule


class BareWeeks:
    """A `WeekSolver` that plans the games and nothing else."""

    def find_plan(self, request: WeekRequest) -> LaidOut | NoFit:
        """Return the games as a plan, or the rules that they break."""
        days = tuple(build_game_days(request).values())
        breaches = find_breaches(days, request)
        if breaches:
            rules = dict.fromkeys(breach.rule for breach in breaches)
            return NoFit(conflicts=tuple(Conflict(rule=rule, words=explain_rule(rule, request)) for rule in rules))
        return LaidOut(days=days, cost_value=compute_plan_cost(days, request), is_best=False)
