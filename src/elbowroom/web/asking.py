"""Who asks: the person logged in, what they may ask for, and the trail of what they looked at."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote, urlsplit

from fastapi import Depends, Request
from fastapi.exceptions import HTTPException

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, KeyRefusedError
from elbowroom.service.people_values import Scope
from elbowroom.service.program_keys import get_key_holder
from elbowroom.service.record_tools import RecordTools, list_people, note_act
from elbowroom.service.record_types import Act, PersonEntry, Role
from elbowroom.service.record_values import Stamp
from elbowroom.service.web_tools import WebTools
from elbowroom.web.guarding import SAFE_METHODS
from elbowroom.web.sessions import Session, Sessions

TOKEN_FIELD, TOKEN_HEADER = "token", "x-elbowroom-token"
BACKGROUND_HEADER = "x-elbowroom-background"
"""Sent by requests that a script makes by itself, so that they do not keep a session awake."""
PASSWORD_PAGE = "/settings/password"
FORM_TYPES = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True, kw_only=True)
class Asker:
    """The person who asks for a page, and what the page works with."""

    person: PersonEntry
    """Who asks."""
    stamp: Stamp
    """Who and when, for entries of the record."""
    web: WebTools
    """Everything that pages work with."""
    token: str
    """The token for forms; empty for a program."""

    @property
    def record(self) -> RecordTools:
        """The opened record."""
        return self.web.record

    def has_role(self, *roles: Role) -> bool:
        """Say whether the person has one of some roles."""
        return self.person.role in roles


async def read_sent_token(request: Request) -> str:
    """Return the token that a request brings in its header or its form; empty for none."""
    sent = request.headers.get(TOKEN_HEADER, "")
    if sent or request.method in SAFE_METHODS or not request.headers.get("content-type", "").startswith(FORM_TYPES):
        return sent
    value = (await request.form()).get(TOKEN_FIELD, "")
    return value if isinstance(value, str) else ""


class Need:
    """A dependency of a page: somebody logged in, with one of some roles."""

    def __init__(self, *roles: Role) -> None:
        """`roles` are those who may ask."""
        self.roles = roles

    def __call__(self, request: Request, sent: Annotated[str, Depends(read_sent_token)]) -> Asker:
        """Return who asks; sends everybody else to the page to log in or to unlock, or raises `AccessError`."""
        session = find_session(request)
        if isinstance(session, Absent):
            raise build_turn(request, "/log-in")
        if session.is_locked:
            raise build_turn(request, "/unlock")
        if session.must_change_password and request.url.path != PASSWORD_PAGE:
            raise build_turn(request, PASSWORD_PAGE)
        check_token(request, session, sent)
        return build_asker(request, session.person_id, session.token, self.roles)


class NeedScope(Need):
    """A dependency of a programming address: a program's key with a scope, or somebody logged in."""

    def __init__(self, scope: Scope, *roles: Role) -> None:
        """`scope` is what the key has to allow; `roles` hold for the person behind the key too."""
        super().__init__(*roles)
        self.scope = scope

    def __call__(self, request: Request, sent: Annotated[str, Depends(read_sent_token)]) -> Asker:
        """Return who asks; a key that is sent counts alone, whoever is logged in."""
        kind, _, secret = request.headers.get("authorization", "").partition(" ")
        if not secret:
            return super().__call__(request, sent)
        tools = find_tools(request)
        if kind.lower() != "bearer":
            raise KeyRefusedError("Send the key as `Authorization: Bearer KEY`.")
        return build_asker(request, get_key_holder(tools.record, secret.strip(), self.scope), "", self.roles)


def find_tools(request: Request) -> WebTools:
    """Return what the pages work with."""
    tools = request.app.state.tools
    assert isinstance(tools, WebTools)
    return tools


def find_sessions(request: Request) -> Sessions:
    """Return the sessions."""
    sessions = request.app.state.sessions
    assert isinstance(sessions, Sessions)
    return sessions


def name_cookie(tools: WebTools) -> str:
    """Return the name of the session's cookie; under TLS one that only this very address can set."""
    return "__Host-elbowroom" if tools.is_sealed else "elbowroom"


def find_session(request: Request) -> Session | Absent:
    """Find the session of a request."""
    tools = find_tools(request)
    session_id = request.cookies.get(name_cookie(tools), "")
    is_touched = BACKGROUND_HEADER not in request.headers
    return find_sessions(request).find_session(session_id, tools.now(), is_touched=is_touched)


def check_token(request: Request, session: Session, sent: str) -> None:
    """Raise `AccessError` where a request that changes something does not bring the session's token."""
    if request.method not in SAFE_METHODS and not hmac.compare_digest(sent.encode(), session.token.encode()):
        raise AccessError("This page is from an earlier session: load it again and repeat what you did.")


def build_asker(request: Request, person_id: str, token: str, roles: tuple[Role, ...]) -> Asker:
    """Return who asks; raises `AccessError` where the person has none of some roles any more."""
    tools = find_tools(request)
    person = list_people(tools.record).get(person_id)
    if person is None or person.role is Role.RETIRED:
        raise AccessError("You no longer work with this record: ask a clinician.")
    if person.role not in roles:
        allowed = " or ".join(str(role) for role in roles)
        raise AccessError(f"This is for the role {allowed}; yours is {person.role}: ask a clinician.")
    return Asker(person=person, stamp=Stamp(at=tools.now(), by=person_id), web=tools, token=token)


def build_turn(request: Request, address: str) -> HTTPException:
    """Return what sends a browser to another page, from where it comes back to the one it is on."""
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if "hx-request" in request.headers or request.method not in SAFE_METHODS:
        came = urlsplit(request.headers.get("hx-current-url") or request.headers.get("referer", ""))
        here = came.path + (f"?{came.query}" if came.query else "")
    target = f"{address}?then={quote(choose_local(here), safe='')}"
    is_script = "hx-request" in request.headers or request.headers.get("sec-fetch-mode", "navigate") != "navigate"
    if is_script:
        return HTTPException(401, "Log in again.", headers={"HX-Redirect": target})
    return HTTPException(303, headers={"Location": target})


def choose_local(address: str) -> str:
    """Return an address where it is one of this server's own pages, else that of the first page."""
    parts = urlsplit(address)
    is_local = address.startswith("/") and not address.startswith(("//", "/\\")) and address.isprintable()
    return address if is_local and not parts.scheme and not parts.netloc and "\\" not in address else "/"


def note_look(asker: Asker, athlete_id: str, what: str) -> None:
    """Note in the trail that somebody looked at something of an athlete; `what` holds no name of an athlete."""
    asker.record.entries.add_entries([note_act(asker.record, asker.stamp, Act.LOOKED, athlete_id, what)])


Everybody = Annotated[Asker, Depends(Need(Role.CLINICIAN, Role.ASSISTANT, Role.READER))]
"""Everybody who works here; the page itself leaves out what the assistant may not see."""
Clinicians = Annotated[Asker, Depends(Need(Role.CLINICIAN))]
"""Clinicians only."""
Lookers = Annotated[Asker, Depends(Need(Role.CLINICIAN, Role.READER))]
"""Those who may see findings and health details."""
Filmers = Annotated[Asker, Depends(Need(Role.CLINICIAN, Role.ASSISTANT))]
"""Those who may add clips and visits."""
