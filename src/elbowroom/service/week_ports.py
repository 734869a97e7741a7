"""What the use cases of throwing weeks need from outside."""

from __future__ import annotations

from typing import Protocol

from elbowroom.core.plan.week import LaidOut, NoFit, WeekRequest


class WeekSolver(Protocol):
    """Lays out weeks of throwing."""

    def find_plan(self, request: WeekRequest) -> LaidOut | NoFit:
        """A plan that keeps every rule, or rules that cannot be kept together; raises `PlanError` on neither."""
        ...
