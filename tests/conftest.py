"""What every test may ask for, and the rule that in CI nothing is skipped."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

# Before anything imports numpy: matrices here are small, and a thread for each core makes them several times slower.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")


def shared_dir() -> Path:
    """Return the folder of outside data beside the checkout; skip the test where it is absent."""
    folder = ROOT.parent / "shared"
    if not folder.is_dir():
        pytest.skip("the folder `shared` with outside data does not lie beside the checkout", allow_module_level=True)
    return folder


@pytest.fixture(name="shared_dir", scope="session")
def provide_shared_dir() -> Path:
    return shared_dir()


@pytest.fixture(scope="session")
def root_dir() -> Path:
    return ROOT


def is_skipping_forbidden() -> bool:
    """Say whether a skip counts as a failure: in CI everything is there, so what is skipped was lost."""
    return os.environ.get("CI") == "true"


def forbid_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure that gives its reason; an expected failure stays what it is."""
    if not report.skipped or hasattr(report, "wasxfail"):
        return
    reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
    report.outcome = "failed"
    report.longrepr = f"skipped, which CI=true forbids: {reason}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Iterator[None]:
    report = yield
    if is_skipping_forbidden():
        forbid_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Iterator[None]:
    report = yield
    if is_skipping_forbidden():
        forbid_skip(report)
    return report
