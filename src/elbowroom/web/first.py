"""The first start: one page while there is no record, then all of them, without starting anew."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from elbowroom.service.web_tools import FirstTools
from elbowroom.web.guarding import Guard
from elbowroom.web.pages import begin
from elbowroom.web.problems import add_handlers
from elbowroom.web.showing import FOLDER


class Switch:
    """Answers with one application until it is given another."""

    def __init__(self, app: ASGIApp) -> None:
        """`app` answers first."""
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        await self._app(scope, receive, send)

    def turn_to(self, app: ASGIApp) -> None:
        """Let another application answer from now on."""
        self._app = app


def build_first_app(tools: FirstTools) -> Switch:
    """Return what answers the first start and, once the record is begun, all pages."""
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    switch = Switch(app)
    app.state.tools, app.state.switch = tools, switch
    app.include_router(begin.router)
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    add_handlers(app)
    app.add_middleware(Guard, hosts=tools.hosts)
    return switch
