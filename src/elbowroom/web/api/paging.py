"""Parts of long lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, TypeVar

from fastapi import Query

from elbowroom.web.api.models import Page

Item = TypeVar("Item")
Count = Annotated[int, Query(ge=1, le=200, description="How many at most.")]
Skipped = Annotated[int, Query(ge=0, le=1_000_000, description="How many to pass over.")]


def build_page(items: Sequence[Item], count: int, skipped: int) -> Page[Item]:
    """Return a part of a list from one item more than it holds, where there are more."""
    return Page(items=list(items[:count]), next_skipped=skipped + count if len(items) > count else None)
