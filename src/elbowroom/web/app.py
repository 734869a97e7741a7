"""Joins the pages to one application."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from elbowroom.service.web_tools import WebTools
from elbowroom.web.api.app import PREFIX, build_api
from elbowroom.web.guarding import Guard
from elbowroom.web.knocking import add_knocks
from elbowroom.web.pages import ROUTERS
from elbowroom.web.problems import add_handlers
from elbowroom.web.sessions import Sessions
from elbowroom.web.showing import FOLDER


def build_app(tools: WebTools) -> FastAPI:
    """Return the application over an opened record."""
    app = FastAPI(title="elbowroom", openapi_url=None, docs_url=None, redoc_url=None)
    app.state.tools = tools
    app.state.sessions = Sessions(tools.make_secret, tools.lock_after_s)
    add_knocks(app)
    for router in ROUTERS:
        app.include_router(router)
    app.mount(PREFIX, build_api(app.state))
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    add_handlers(app)
    app.add_middleware(Guard, hosts=tools.hosts)
    return app
