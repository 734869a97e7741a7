"""Serves the pages, on this machine alone or under TLS to others of its network."""

from __future__ import annotations

import socket
import ssl

import uvicorn
from starlette.types import ASGIApp

from elbowroom.errors import SettingsError
from elbowroom.service.web_tools import TlsKeys

LOOPBACK = "127.0.0.1"
LONGEST_END_S = 5
"""After Ctrl-C, how long requests that run may go on."""


def open_door(host: str, port: int) -> socket.socket:
    """Begin to listen on a port, a free one where it is 0; raises `SettingsError` where it is taken."""
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    try:
        door.bind((host, port))
        door.listen()
    except OSError as e:
        door.close()
        words = f"Port {port} of {host} cannot be used ({e.strerror or e}): name another --port or --host."
        raise SettingsError(words) from e
    return door


def serve_pages(app: ASGIApp, door: socket.socket, tls: TlsKeys | None = None) -> None:
    """Answer until somebody stops the program; with `tls` nothing is answered in the clear."""
    config = build_config(app, tls)
    uvicorn.Server(config).run(sockets=[door])


def build_config(app: ASGIApp, tls: TlsKeys | None = None) -> uvicorn.Config:
    """Return how the server behaves: no log of requests, no headers of a proxy, no sockets."""
    return uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws="none",
        timeout_graceful_shutdown=LONGEST_END_S,
        ssl_context_factory=(lambda _config, _usual: build_context(tls)) if tls else None,
    )


def build_context(tls: TlsKeys) -> ssl.SSLContext:
    """Return the TLS of the server: version 1.3 alone."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_3
    context.load_cert_chain(tls.path, password=tls.password)
    return context
