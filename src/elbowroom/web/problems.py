"""What a browser or a program is told when something cannot be done: one sentence, never a traceback."""

from __future__ import annotations

import logging

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException as PlainHTTPException

from elbowroom.errors import AccessError, ConflictError, DamageError, ElbowroomError, NotThereError
from elbowroom.web.api.asking import answer_problem
from elbowroom.web.showing import render_bare

LOG = logging.getLogger("elbowroom.web")
SENTENCES = {
    404: "There is no such page: go back, or start from the day.",
    405: "This page cannot be asked in this way: go back and use its buttons.",
    413: "That is too large to take: make it smaller.",
}
UNEXPECTED = "elbowroom itself failed; nothing of this was half-written. Try again, and report it if it stays."


def add_handlers(app: FastAPI) -> None:
    """Let the app answer every error with a sentence."""
    app.add_exception_handler(ElbowroomError, handle_own_error)
    app.add_exception_handler(PlainHTTPException, handle_http_error)
    app.add_exception_handler(RequestValidationError, handle_wrong_words)
    app.add_exception_handler(Exception, handle_unexpected)


def handle_own_error(request: Request, error: Exception) -> Response:
    """Answer an error of ours."""
    kinds: tuple[tuple[type[ElbowroomError], int], ...] = (
        *((AccessError, 403), (NotThereError, 404)),
        *((ConflictError, 409), (DamageError, 500)),
    )
    status = next((status for kind, status in kinds if isinstance(error, kind)), 400)
    return answer(request, status, str(error))


def handle_http_error(request: Request, error: Exception) -> Response:
    """Answer a page that is not there, or send the browser elsewhere."""
    assert isinstance(error, PlainHTTPException)
    if error.status_code < 400:
        return Response(status_code=error.status_code, headers=error.headers)
    response = answer(request, error.status_code, SENTENCES.get(error.status_code, str(error.detail)))
    response.headers.update(error.headers or {})
    return response


def handle_wrong_words(request: Request, error: Exception) -> Response:
    """Answer a form or address whose values cannot be used, naming every one."""
    assert isinstance(error, RequestValidationError)
    names = ", ".join(sorted({str(item["loc"][-1]).replace("_", " ") for item in error.errors()}))
    return answer(request, 422, f"This cannot be used as it is: {names}. Correct it and try again.")


def handle_unexpected(request: Request, error: Exception) -> Response:
    """Answer an error that nobody foresaw; what it was goes to the log, without the words of the request."""
    LOG.error("%s %s failed", request.method, request.scope["path"], exc_info=error)
    return answer(request, 500, UNEXPECTED)


def answer(request: Request, status: int, sentence: str) -> Response:
    """Return a sentence as a page, as a part for htmx, or as JSON for a program."""
    if request.scope["path"].startswith("/api/"):
        return answer_problem(status, sentence)
    if "hx-request" in request.headers:
        return render_bare(request, "problem_part.html", status, sentence=sentence)
    if "text/html" in request.headers.get("accept", ""):
        return render_bare(request, "problem.html", status, sentence=sentence)
    return JSONResponse({"problem": sentence}, status_code=status)
