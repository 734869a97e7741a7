"""The accessibility checker axe-core, for the tests of pages."""

from __future__ import annotations

from tests.makers.npm_files import AXE, provide_file


def provide_axe() -> str:
    """Return the script of axe-core; skips with the reason where it can be neither found nor fetched."""
    return provide_file(AXE)
