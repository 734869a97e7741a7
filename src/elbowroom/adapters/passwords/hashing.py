"""Passwords hashed by argon2id."""

from __future__ import annotations

from argon2 import PasswordHasher, Type
from argon2.exceptions import InvalidHashError, VerificationError

from elbowroom.errors import DamageError


class Argon2Hasher:
    """A `PasswordHasher` at the cost of the second recommended option of RFC 9106: 64 MiB, 3 passes, 4 lanes."""

    def __init__(self, memory_kib: int = 65536, passes: int = 3, lanes: int = 4) -> None:
        """A lower cost is for tests only."""
        self._hasher = PasswordHasher(time_cost=passes, memory_cost=memory_kib, parallelism=lanes, type=Type.ID)

    def hash_password(self, password: str) -> str:
        """Hash with a salt of its own."""
        return self._hasher.hash(password)

    def is_right(self, hashed: str, password: str) -> bool:
        """Hash again and compare in constant time; raises `DamageError` where `hashed` is none."""
        try:
            return self._hasher.verify(hashed, password)
        except InvalidHashError as e:
            raise DamageError("A stored password cannot be used: let a clinician set a new one.") from e
        except VerificationError:
            return False

    def is_outdated(self, hashed: str) -> bool:
        """Whether the cost differs from this one's."""
        return self._hasher.check_needs_rehash(hashed)
