"""What logging in needs from the outside."""

from __future__ import annotations

from typing import Protocol


class PasswordHasher(Protocol):
    """Turns passwords into what may be kept, slowly."""

    def hash_password(self, password: str) -> str:
        """What may be kept of a password; different each time."""
        ...

    def is_right(self, hashed: str, password: str) -> bool:
        """Whether a password is the one that was hashed; takes as long either way."""
        ...

    def is_outdated(self, hashed: str) -> bool:
        """Whether it was hashed at another cost than today's."""
        ...
