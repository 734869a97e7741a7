"""Who asks the programming face, and what it answers when something cannot be done (RFC 9457)."""

from __future__ import annotations

import logging
from typing import Annotated

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import HTTPException, RequestValidationError
from fastapi.responses import JSONResponse
from fastapi.security import HTTPBearer
from fastapi.security.http import HTTPAuthorizationCredentials
from starlette.exceptions import HTTPException as PlainHTTPException
from starlette.routing import Match, Route

from elbowroom.errors import AccessError, ConflictError, DamageError, ElbowroomError, KeyRefusedError, NotThereError
from elbowroom.service.people_values import Scope
from elbowroom.service.record_types import Role
from elbowroom.web.asking import Asker, NeedScope, read_sent_token

LOG = logging.getLogger("elbowroom.web")
PROBLEM = "application/problem+json"
TITLES = {
    400: "It cannot be done as asked",
    401: "Who asks is not known",
    403: "That is not allowed",
    404: "It is not there",
    405: "It cannot be asked in this way",
    409: "Somebody else changed it",
    413: "Too large",
    422: "The request cannot be read",
    500: "elbowroom failed",
}
NO_KEY = "Send a key as `Authorization: Bearer KEY`; a clinician makes one under Settings, Keys for programs."
SENTENCES = {404: "There is no such address: see /api/v1/openapi.json.", 405: "This address is not asked in this way."}
UNEXPECTED = "elbowroom itself failed; nothing of this was half-written. Try again, and report it if it stays."
BEARER = HTTPBearer(auto_error=False, description="A key made under Settings, Keys for programs.")


class NeedKey(NeedScope):
    """A program's key with a scope, or the session of somebody logged in; strangers are told, not led to a form."""

    def __call__(
        self,
        request: Request,
        sent: Annotated[str, Depends(read_sent_token)],
        _: Annotated[HTTPAuthorizationCredentials | None, Depends(BEARER)] = None,
    ) -> Asker:
        """Return who asks."""
        try:
            return super().__call__(request, sent)
        except HTTPException as e:
            raise KeyRefusedError(NO_KEY) from e


Readers = Annotated[Asker, Depends(NeedKey(Scope.READ, Role.CLINICIAN, Role.READER))]
"""Those who may see findings and health details."""
AllReaders = Annotated[Asker, Depends(NeedKey(Scope.READ, Role.CLINICIAN, Role.ASSISTANT, Role.READER))]
"""Everybody who works here."""
Clinicians = Annotated[Asker, Depends(NeedKey(Scope.READ, Role.CLINICIAN))]
"""Clinicians, who look."""
Writers = Annotated[Asker, Depends(NeedKey(Scope.WRITE, Role.CLINICIAN, Role.ASSISTANT))]
"""Those who may add athletes, guardians and consents."""
Deciders = Annotated[Asker, Depends(NeedKey(Scope.WRITE, Role.CLINICIAN))]
"""Clinicians, who change."""


def add_problem_handlers(app: FastAPI) -> None:
    """Let the programming face answer every error as a problem document."""
    app.add_exception_handler(ElbowroomError, handle_own_problem)
    app.add_exception_handler(PlainHTTPException, handle_http_problem)
    app.add_exception_handler(RequestValidationError, handle_wrong_request)
    app.add_exception_handler(Exception, handle_unexpected_problem)


def handle_own_problem(_: Request, error: Exception) -> JSONResponse:
    """Answer an error of ours."""
    kinds: tuple[tuple[type[ElbowroomError], int], ...] = (
        *((KeyRefusedError, 401), (AccessError, 403), (NotThereError, 404)),
        *((ConflictError, 409), (DamageError, 500)),
    )
    status = next((status for kind, status in kinds if isinstance(error, kind)), 400)
    headers = {"www-authenticate": "Bearer"} if status == 401 else None
    return answer_problem(status, str(error), headers=headers)


def list_methods(request: Request) -> str:
    """Return by which methods an address may be asked, over all routes of that path."""
    found: set[str] = set()
    for route in request.app.routes:
        if isinstance(route, Route) and route.matches({**request.scope, "method": "GET"})[0] is not Match.NONE:
            found |= route.methods or set()
    return ", ".join(sorted(found))


def handle_http_problem(request: Request, error: Exception) -> JSONResponse:
    """Answer an address that is not there or is asked in another way."""
    assert isinstance(error, PlainHTTPException)
    if error.status_code == 405:
        error.headers = {"allow": list_methods(request)}
    sentence = SENTENCES.get(error.status_code, str(error.detail))
    return answer_problem(error.status_code, sentence, headers=dict(error.headers or {}))


def handle_wrong_request(_: Request, error: Exception) -> JSONResponse:
    """Answer a request whose values cannot be used, naming every one."""
    assert isinstance(error, RequestValidationError)
    found = [{"where": "/".join(map(str, item["loc"])), "what": item["msg"]} for item in error.errors()]
    names = ", ".join(sorted({str(item["where"]) for item in found}))
    return answer_problem(422, f"Correct {names} and ask again.", problems=found)


def handle_unexpected_problem(request: Request, error: Exception) -> JSONResponse:
    """Answer an error that nobody foresaw; what it was goes to the log, without the words of the request."""
    LOG.error("%s %s failed", request.method, request.scope["path"], exc_info=error)
    return answer_problem(500, UNEXPECTED)


def answer_problem(
    status: int, detail: str, *, headers: dict[str, str] | None = None, problems: list[dict[str, str]] | None = None
) -> JSONResponse:
    """Return a problem document with one sentence."""
    body: dict[str, object] = {"type": "about:blank", "title": TITLES.get(status, "Refused"), "status": status}
    body["detail"] = detail
    if problems is not None:
        body["problems"] = problems
    return JSONResponse(body, status_code=status, headers=headers, media_type=PROBLEM)
