"""What holds for every request, before any page: the host, where it comes from, and the headers of the answer."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE_METHODS = ("GET", "HEAD")
LARGEST_FORM_BYTES = 16 << 20
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "font-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=()",
}


class Guard:
    """Refuses requests that another site or another name of this machine sends, and seals every answer."""

    def __init__(self, app: ASGIApp, hosts: tuple[str, ...]) -> None:
        """`hosts` are the names and addresses by which this machine may be asked."""
        self._app, self._hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        method = "GET" if is_program(scope["path"], headers) else scope["method"]
        problem, size = find_problem(method, headers, self._hosts), find_size_problem(scope["method"], headers)
        refused = _refuse(scope["path"], problem or size, 403 if problem else 413)
        await (refused if problem or size else self._app)(scope, receive, _seal(scope, send))


def find_problem(method: str, headers: Headers, hosts: tuple[str, ...]) -> str:
    """Return why a request is refused, or an empty text.

    A page of another site that looks up this machine under a name of its own is known by the host; one that sends
    a form here is known by what the browser says of where the request comes from.
    """
    host = headers.get("host", "")
    if split_host(host) not in hosts:
        return "elbowroom does not answer under this name: use the address that it printed."
    if method in SAFE_METHODS or headers.get("authorization", "").startswith("Bearer "):
        return ""
    site, origin = headers.get("sec-fetch-site", ""), headers.get("origin", "")
    is_own = site == "same-origin" if site else origin.partition("://")[2] == host
    return "" if is_own else "This came from another site, so it was refused: use elbowroom's own pages."


def find_size_problem(method: str, headers: Headers) -> str:
    """Return why the body of a request is not read, or an empty text; files come as PUT, written as they come."""
    if method in (*SAFE_METHODS, "PUT") or ("transfer-encoding" not in headers and "content-length" not in headers):
        return ""
    length = headers.get("content-length", "")
    is_fine = length.isascii() and length.isdigit() and len(length) < 12 and int(length) <= LARGEST_FORM_BYTES
    return "" if is_fine else f"That is too large for a form: at most {LARGEST_FORM_BYTES >> 20} MB, said beforehand."


def split_host(host: str) -> str:
    """Return the name or address of a host header, without the port."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].lower()


def is_program(path: str, headers: Headers) -> bool:
    """Say whether a program asks, which no other site can have forged: it brings no cookie."""
    return path.startswith("/api/") and "cookie" not in headers


def _refuse(path: str, sentence: str, status: int) -> ASGIApp:
    if not path.startswith("/api/"):
        return PlainTextResponse(sentence, status_code=status)
    body = {"type": "about:blank", "title": "Refused", "status": status, "detail": sentence}
    return JSONResponse(body, status_code=status, media_type="application/problem+json")


def _seal(scope: Scope, send: Send) -> Send:
    async def send_sealed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            # Nothing of an athlete stays in the browser's store; the scripts and styles may.
            default = "no-cache" if scope["path"].startswith("/static/") else "no-store"
            headers.setdefault("cache-control", default)
        await send(message)

    return send_sealed
