"""A database server that the tests of one run share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.makers.postgres import run_server


@pytest.fixture(scope="session")
def postgres_address() -> Iterator[str]:
    with run_server() as address:
        yield address
