"""Columns that hold words, times and what may be absent, the same in both databases."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import DateTime, Dialect, String
from sqlalchemy.types import TypeDecorator, TypeEngine

from elbowroom.core.quantities.types import Absent

ABSENT = Absent(reason="The record holds no value here.")
"""Stands for what an entry leaves out."""


class _UtcTime(TypeDecorator[datetime]):
    """A moment, UTC; SQLite keeps no zone, so it is put back on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return value.astimezone(UTC) if value else None

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class _Word(TypeDecorator[StrEnum]):
    """One of a closed set of words."""

    impl = String(40)
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        self.words = words
        super().__init__()

    def process_bind_param(self, value: StrEnum | None, dialect: Dialect) -> str | None:
        return None if value is None else str(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> StrEnum | None:
        return None if value is None else self.words(value)


class _MayBeAbsent(TypeDecorator[Any]):
    """A column whose empty place reads as `Absent`."""

    impl = String
    cache_ok = True

    def __init__(self, inner: TypeEngine[Any]) -> None:
        self.inner = inner
        super().__init__()

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(self.inner)

    def process_bind_param(self, value: Any, dialect: Dialect) -> Any:
        return None if isinstance(value, Absent) else value

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:
        return ABSENT if value is None else value


def make_time() -> TypeEngine[datetime]:
    """Return the type of a column that holds a moment."""
    return _UtcTime()


def make_word(words: type[StrEnum]) -> TypeEngine[Any]:
    """Return the type of a column that holds one of some words."""
    return _Word(words)


def make_optional(inner: TypeEngine[Any]) -> TypeEngine[Any]:
    """Return the type of a column whose value may be absent."""
    return _MayBeAbsent(inner)
