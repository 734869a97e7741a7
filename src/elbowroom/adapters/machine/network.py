"""Where this machine is in its network."""

from __future__ import annotations

import socket
from ipaddress import ip_address

FAR_ADDRESS = ("192.0.2.1", 9)
"""An address kept for examples (RFC 5737): nothing is sent to it, the system only says which way it would go."""


def find_own_address() -> str:
    """Return the address under which other machines reach this one; that of loopback where there is no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(FAR_ADDRESS)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def find_own_names() -> tuple[str, ...]:
    """Return the names of this machine that may stand in an address, in small letters."""
    name = socket.gethostname().split(".")[0].lower()
    is_fine = bool(name) and name.isascii() and all(part.isalnum() for part in name.split("-"))
    return (name, f"{name}.local") if is_fine else ()


def is_loopback(host: str) -> bool:
    """Say whether an address or name is heard by this machine alone."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
