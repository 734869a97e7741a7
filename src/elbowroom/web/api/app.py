"""Joins the addresses of the programming face to one application, mounted under /api/v1."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from starlette.datastructures import State

from elbowroom.web.api import athletes, clinic, plan, visits
from elbowroom.web.api.asking import PROBLEM, add_problem_handlers
from elbowroom.web.api.models import Problem

PREFIX = "/api/v1"
CAUTION = (
    "Screening aid for use by or with licensed clinicians; not a diagnosis. Pain, numbness, locking, swelling, a pop "
    "or lost motion: stop throwing and be examined. Local rules and the treating clinician come first."
)
ANSWERS: dict[int | str, dict[str, Any]] = {
    status: {"description": words, "content": {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    for status, words in (
        *((400, "It cannot be done as asked."), (401, "Who asks is not known."), (403, "The key or role forbids it.")),
        *((404, "It is not there."), (409, "Somebody else changed it since.")),
        *((422, "A value cannot be used."), (500, "Something kept is damaged, or elbowroom failed.")),
    )
}
"""What every address may answer beside what was asked for."""


def build_api(state: State) -> FastAPI:
    """Return the programming face; `state` holds the tools and the sessions of the pages."""
    app = FastAPI(
        title="elbowroom",
        version="1",
        description=f"Lengths in metres, angles in degrees, times UTC. {CAUTION}",
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        responses=ANSWERS,
    )
    app.state = state
    for part in (athletes, visits, plan, clinic):
        app.include_router(part.router)
    app.add_api_route("/openapi.json", lambda: describe_routes(app), include_in_schema=False)
    add_problem_handlers(app)
    return app


def describe_routes(app: FastAPI) -> dict[str, Any]:
    """Return the description after OpenAPI, with the form of its problems."""
    servers = [{"url": PREFIX}]
    description = get_openapi(
        title=app.title, version=app.version, description=app.description, routes=app.routes, servers=servers
    )
    form = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
    description["components"]["schemas"]["Problem"] = form
    return description


def describe_api() -> dict[str, Any]:
    """Return the description of the programming face."""
    return describe_routes(build_api(State()))
