"""Serves the pages on this machine."""

from __future__ import annotations

import socket

import uvicorn
from starlette.types import ASGIApp

from elbowroom.errors import SettingsError

LOOPBACK = "127.0.0.1"


def open_door(host: str, port: int) -> socket.socket:
    """Begin to listen on a port, a free one where it is 0; raises `SettingsError` where it is taken."""
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    try:
        door.bind((host, port))
        door.listen()
    except OSError as e:
        door.close()
        raise SettingsError(f"Port {port} of {host} cannot be used ({e.strerror}): name another with --port.") from e
    return door


def serve_pages(app: ASGIApp, door: socket.socket) -> None:
    """Answer until somebody stops the program."""
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, proxy_headers=False, ws="none"
    )
    uvicorn.Server(config).run(sockets=[door])
