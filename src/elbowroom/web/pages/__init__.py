"""The pages, one file each; a new page adds its router here."""

from __future__ import annotations

from elbowroom.web.pages import athletes, day, locking, log_in, papers, password, people, program_keys, settings, trail

ROUTERS = (
    log_in.router,
    locking.router,
    day.router,
    athletes.router,
    papers.router,
    settings.router,
    people.router,
    password.router,
    program_keys.router,
    trail.router,
)
"""Every router of the pages."""
