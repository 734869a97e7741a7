"""The wiring of the pages: what stands behind `WebTools`."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from pathlib import Path

from elbowroom.adapters.certificates.making import (
    FoundCertificate,
    is_still_good,
    make_certificate,
    read_certificate,
)
from elbowroom.adapters.machine.network import find_own_address, find_own_names, is_loopback
from elbowroom.adapters.passwords.hashing import Argon2Hasher
from elbowroom.adapters.vault.ring import RING_NAME, read_ring
from elbowroom.adapters.vault.safe_files import write_safely
from elbowroom.adapters.vault.sealing import derive_key
from elbowroom.bootstrap import begin_record
from elbowroom.bootstrap_pages import add_demo_club
from elbowroom.bootstrap_papers import PackagedPapers
from elbowroom.bootstrap_plan import add_demo_plans, build_plan_tables
from elbowroom.bootstrap_review import build_review_tools
from elbowroom.core.quantities.types import Absent
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import Stamp
from elbowroom.service.web_tools import FirstTools, TlsKeys, WebTools
from elbowroom.settings import RecordSettings, WebSettings

SECRET_BYTES = 32
TLS_NAME = "pages.pem"
"""File of the certificate, beside the keys of the record."""


def build_web_tools(record: RecordTools, settings: WebSettings, hosts: tuple[str, ...], *, is_sealed: bool) -> WebTools:
    """Return what the pages of an opened record need."""
    return WebTools(
        record=record,
        hasher=build_hasher(),
        now=lambda: datetime.now(UTC),
        make_secret=lambda: secrets.token_urlsafe(SECRET_BYTES),
        papers=PackagedPapers(),
        plan=build_plan_tables(),
        lock_after_s=settings.lock_after_s,
        hosts=hosts,
        is_sealed=is_sealed,
        review=build_review_tools(record),
    )


def build_hasher() -> PasswordHasher:
    """Return what hashes the passwords of people."""
    return Argon2Hasher()


def build_first_tools(settings: RecordSettings, web: WebSettings, hosts: tuple[str, ...]) -> FirstTools:
    """Return what the first start needs, with a code of its own."""
    return FirstTools(
        code=secrets.token_urlsafe(SECRET_BYTES),
        begin_record=lambda passphrase: begin_record(settings, passphrase),
        build_tools=lambda record: build_web_tools(record, web, hosts, is_sealed=False),
        load_demo=_load_demo,
        hosts=hosts,
    )


def _load_demo(record: RecordTools, stamp: Stamp) -> None:
    add_demo_plans(record, add_demo_club(record, stamp, lambda _done, _all: None), stamp)


def has_record(settings: RecordSettings) -> bool:
    """Say whether a record was begun in the place that the settings name."""
    return (settings.folder / RING_NAME).exists()


def list_hosts(host: str) -> tuple[str, ...]:
    """Return the addresses and names by which this machine may be asked when it listens on an address.

    Empty, it stands for the address of this machine in its network, which comes first then.
    """
    if is_loopback(host):
        return tuple(dict.fromkeys((host, "127.0.0.1", "localhost")))
    return (host or find_own_address(), *find_own_names(), "localhost")


def is_own_alone(host: str) -> bool:
    """Say whether only this machine hears what listens on an address."""
    return is_loopback(host)


def prepare_tls(settings: RecordSettings, passphrase: str, names: tuple[str, ...]) -> TlsKeys:
    """Return the certificate for some addresses and names: the one of last time where it still holds, or a new one.

    Its key is sealed under a password derived from the keys of the record. Raises `RecordError`.
    """
    ring = read_ring(settings.folder / RING_NAME, passphrase)
    password = derive_key(ring.keys[max(ring.keys)], b"", "pages").hex()
    path, now = settings.folder / TLS_NAME, datetime.now(UTC)
    found = _find_certificate(path, password, names, now)
    if isinstance(found, Absent):
        text = make_certificate(names, password.encode(), now)
        write_safely(path, [text])
        found = read_certificate(text, password.encode())
    return TlsKeys(path=path, password=password, fingerprint=found.fingerprint)


def _find_certificate(path: Path, password: str, names: tuple[str, ...], now: datetime) -> FoundCertificate | Absent:
    try:
        found = read_certificate(path.read_bytes(), password.encode())
    except (OSError, ValueError):
        # Damaged, or sealed under keys that were changed since: a new one does as well.
        return Absent(reason="There is no certificate that can be used.")
    return found if is_still_good(found, names, now) else Absent(reason="The certificate ends, or the address changed.")
