"""In-memory double of the Protocol in `people_ports`."""

from __future__ import annotations

import hashlib


class QuickHasher:
    """A `PasswordHasher` for tests: as quick as it is unsafe."""

    def hash_password(self, password: str) -> str:
        """The SHA-256, marked as such."""
        return "quick:" + hashlib.sha256(password.encode()).hexdigest()

    def is_right(self, hashed: str, password: str) -> bool:
        """Whether the SHA-256 is the same."""
        return hashed == self.hash_password(password)

    def is_outdated(self, hashed: str) -> bool:
        """Never."""
        return False
