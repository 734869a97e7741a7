"""The pieces of work of a set: one clip, one board clip or one truth each, so that they run side by side."""

from dataclasses import dataclass
from pathlib import Path

from rendering.sets import Plan
from rendering.visits import render_board_clip, render_clip, write_visit_truth


@dataclass(frozen=True, kw_only=True)
class Task:
    """One piece of work: a phone's clip, a phone's board clip, or a visit's truth."""

    plan: Plan
    """The visit."""
    kind: str
    """'clip', 'board' or 'truth'."""
    phone: int
    """Which phone."""
    out: Path
    """Folder of the sets."""


def list_tasks(plan: Plan, out: Path) -> list[Task]:
    """All pieces of work of one visit, the longest first."""
    kinds = [("clip", k) for k in range(plan.phone_count)] + [("board", k) for k in range(plan.phone_count)]
    return [Task(plan=plan, kind=kind, phone=k, out=out) for kind, k in [*kinds, ("truth", 0)]]


def do_task(task: Task) -> str:
    """Do one piece of work in a process of its own."""
    folder, visit = task.out / task.plan.name, task.plan.build(task.out / "bodies")
    phone = visit.phones[task.phone]
    if task.kind == "truth":
        write_visit_truth(visit, folder, task.plan.how)
    elif task.kind == "board":
        render_board_clip(visit, phone, folder, task.plan.how)
    else:
        render_clip(visit, phone, folder, task.plan.how)
    return f"{folder} {task.kind} {phone.name}"
