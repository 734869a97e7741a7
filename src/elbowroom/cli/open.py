"""`elbowroom open`."""

from __future__ import annotations

import os
import webbrowser
from typing import TYPE_CHECKING

import click

from elbowroom.cli.record.opening import read_passphrase, read_place
from elbowroom.errors import RecordError, SettingsError
from elbowroom.settings import read_web_settings

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from elbowroom import bootstrap_jobs
    from elbowroom.service.web_tools import TlsKeys


@click.command("open", epilog="Example:  elbowroom open --port 8080")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port to listen on; a free one where left out.")
@click.option("--host", default="", help="Address to listen on; this machine alone where left out.")
@click.option("--lan", "is_shared", is_flag=True, help="Let other machines of the network in, under TLS.")
@click.option("--workers", type=click.IntRange(0, 64), default=1, help="Processes that do jobs; 0 for none here.")
@click.option("--browser/--no-browser", "is_shown", default=True, help="Open the browser.")
def open_pages(port: int, host: str, is_shared: bool, workers: int, is_shown: bool) -> None:
    """Open the clinic's record in the browser.

    The first time, a page leads through beginning a record. Later the passphrase opens it, and each person logs in
    with a password of their own. Ctrl-C closes the record again.

    Only this machine is answered, unless --lan is given: then a tablet or telephone of the same network is too, sealed
    by a certificate that this machine made for itself. The browser there warns once; compare the fingerprint that it
    shows with the one printed here before going on.
    """
    from elbowroom import bootstrap_jobs, bootstrap_web
    from elbowroom.web.serving import LOOPBACK, open_door, serve_pages

    host = host or ("" if is_shared else LOOPBACK)
    if not (is_shared or bootstrap_web.is_own_alone(host)):
        raise SettingsError(f"{host} is heard by other machines: add --lan, which seals what goes over the network.")
    hosts = bootstrap_web.list_hosts(host)
    crew = bootstrap_jobs.WorkerCrew(workers, os.environ)
    app, path, tls = _build(hosts, is_shared, crew)
    door = open_door(hosts[0], port)
    address = f"{'https' if tls else 'http'}://{_phrase_host(hosts[0])}:{door.getsockname()[1]}{path}"
    said = "There is no record yet: begin one at" if path != "/" else "The record is open at"
    click.echo(f"{said} {address} until you press Ctrl-C.")
    if tls:
        click.echo(f"Fingerprint of its certificate (SHA-256): {tls.fingerprint}")
    if is_shown:
        webbrowser.open(address)
    try:
        serve_pages(app, door, tls)
    finally:
        crew.close()


def _build(
    hosts: tuple[str, ...], is_shared: bool, crew: bootstrap_jobs.WorkerCrew
) -> tuple[ASGIApp, str, TlsKeys | None]:
    """Return what answers, the path that is opened first, and the certificate where others are let in."""
    from elbowroom import bootstrap, bootstrap_web
    from elbowroom.service.people import check_log_in
    from elbowroom.web.app import build_app
    from elbowroom.web.first import build_first_app

    settings, place = read_web_settings(os.environ), read_place()
    if not bootstrap_web.has_record(place):
        if is_shared:
            raise RecordError("There is no record yet: begin it on this machine first, without --lan.")
        first = crew.begin_with(bootstrap_web.build_first_tools(place, settings, hosts))
        return build_first_app(first), f"/begin?code={first.code}", None
    passphrase = read_passphrase(place)
    record = bootstrap.open_record(place, passphrase)
    check_log_in(record)
    tls = bootstrap_web.prepare_tls(place, passphrase, hosts) if is_shared else None
    crew.begin(passphrase)
    return build_app(bootstrap_web.build_web_tools(record, settings, hosts, is_sealed=is_shared)), "/", tls


def _phrase_host(host: str) -> str:
    return f"[{host}]" if ":" in host else host
