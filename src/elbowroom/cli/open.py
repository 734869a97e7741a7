"""`elbowroom open`."""

from __future__ import annotations

import os
import webbrowser

import click

from elbowroom.cli.record.opening import open_tools
from elbowroom.settings import read_web_settings


@click.command("open", epilog="Example:  elbowroom open --port 8080")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port to listen on; a free one where left out.")
@click.option("--browser/--no-browser", "is_shown", default=True, help="Open the browser.")
def open_pages(port: int, is_shown: bool) -> None:
    """Open the record's pages in the browser, on this machine only.

    The passphrase opens the record; each person then logs in with a password of their own, which
    `elbowroom record person` sets. Ctrl-C closes the record again.
    """
    from elbowroom import bootstrap_web
    from elbowroom.web.app import build_app
    from elbowroom.web.serving import LOOPBACK, open_door, serve_pages

    settings = read_web_settings(os.environ)
    record = open_tools()
    door = open_door(LOOPBACK, port)
    address = f"http://{LOOPBACK}:{door.getsockname()[1]}/"
    app = build_app(bootstrap_web.build_web_tools(record, settings, (LOOPBACK, "localhost"), is_sealed=False))
    click.echo(f"The record is open at {address} until you press Ctrl-C.")
    if is_shown:
        webbrowser.open(address)
    serve_pages(app, door)
