"""Lays out weeks of throwing with the constraint solver CP-SAT, the same plan for the same request on any machine."""

from __future__ import annotations

from collections.abc import Iterable

from ortools.sat.python.cp_model import FEASIBLE, INFEASIBLE, OPTIMAL, CpSolver

from elbowroom.adapters.weeks.model import WeekModel
from elbowroom.core.plan.week import Conflict, LaidOut, NoFit, WeekRequest
from elbowroom.core.plan.week_cost import compute_plan_cost
from elbowroom.errors import PlanError

SEED = 7
WORK_LIMIT = 4.0
"""Solver's own measure of work, which does not depend on the machine's speed, so that plans do not either."""
TIME_LIMIT_S = 60.0
"""Stop in any case; where this one is reached, the plan may depend on the machine."""


class CpSatWeeks:
    """A `WeekSolver` over CP-SAT."""

    def find_plan(self, request: WeekRequest) -> LaidOut | NoFit:
        """Return the plan of least cost, or the rules that cannot be kept together; raises `PlanError` on neither."""
        weeks = WeekModel(request)
        for switch in weeks.switches.values():
            weeks.model.add(switch == 1)
        weeks.add_cost()
        solver = _make_solver()
        status = solver.solve(weeks.model)
        if status == INFEASIBLE:
            return NoFit(conflicts=_find_conflicts(request))
        if status not in (OPTIMAL, FEASIBLE):
            raise PlanError("No plan was found in time: plan fewer days, or wish for less in a week.")
        days = weeks.read_days(solver)
        return LaidOut(days=days, cost_value=compute_plan_cost(days, request), is_best=status == OPTIMAL)


def _make_solver() -> CpSolver:
    solver = CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = WORK_LIMIT
    solver.parameters.max_time_in_seconds = TIME_LIMIT_S
    return solver


def _find_conflicts(request: WeekRequest) -> tuple[Conflict, ...]:
    """Return rules that cannot be kept together, none of which could be left out of the set."""
    weeks = WeekModel(request)
    weeks.model.add_assumptions(list(weeks.switches.values()))
    solver = _make_solver()
    solver.solve(weeks.model)
    named = set(solver.sufficient_assumptions_for_infeasibility())
    kept = [conflict for conflict, switch in weeks.switches.items() if switch.index in named]
    for conflict in tuple(kept):
        without = [item for item in kept if item != conflict]
        if not _has_plan(request, without):
            kept = without
    return tuple(kept)


def _has_plan(request: WeekRequest, kept: Iterable[Conflict]) -> bool:
    """Say whether some plan keeps these rules; the other games are then not played and the other rules not kept."""
    weeks, held = WeekModel(request), set(kept)
    for conflict, switch in weeks.switches.items():
        weeks.model.add(switch == (conflict in held))
    return _make_solver().solve(weeks.model) in (OPTIMAL, FEASIBLE)
