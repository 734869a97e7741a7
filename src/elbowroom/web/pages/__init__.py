"""The pages, one file each; a new page adds its router here."""

from __future__ import annotations

from elbowroom.web.pages import (
    athlete,
    athletes,
    data,
    day,
    drill_rules,
    drills,
    exam,
    filming,
    intake,
    judging,
    limits,
    locking,
    log_in,
    papers,
    password,
    people,
    program_keys,
    review,
    settings,
    trail,
    uploads,
    visit,
)

ROUTERS = (
    log_in.router,
    locking.router,
    day.router,
    athletes.router,
    papers.router,
    data.router,
    athlete.router,
    visit.router,
    settings.router,
    limits.router,
    judging.router,
    people.router,
    password.router,
    program_keys.router,
    trail.router,
    intake.router,
    exam.router,
    drills.router,
    drill_rules.router,
    filming.router,
    uploads.router,
    review.router,
)
"""Every router of the pages."""
