"""In CI a skip is a failure, elsewhere it is a skip.

Sides: a small suite run in a process of its own with and without CI=true, its closing line read.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from tests.architecture.sources import ROOT

SKIPS = {
    "in a test": "import pytest\ndef test_a(): pytest.skip('no eggs')",
    "by a mark": "import pytest\n@pytest.mark.skip(reason='no eggs')\ndef test_a(): pass",
    "of a module": "import pytest\npytest.skip('no eggs', allow_module_level=True)",
    "by a missing module": "import pytest\npytest.importorskip('no_such_module', reason='no eggs')",
    "in a fixture": "import pytest\n@pytest.fixture\ndef a(): pytest.skip('no eggs')\ndef test_a(a): pass",
}
EXPECTED_FAILURE = "import pytest\n@pytest.mark.xfail(reason='known')\ndef test_a(): assert False"


def run_suite(folder: Path, suite: dict[str, str], ci: str) -> tuple[int, str]:
    shutil.copy(ROOT / "tests" / "conftest.py", folder / "conftest.py")
    for number, text in enumerate(suite.values()):
        (folder / f"test_{number}.py").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--continue-on-collection-errors"]
    environment = {**os.environ, "CI": ci}
    result = subprocess.run(
        [*command, str(folder)], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )
    return result.returncode, result.stdout


def test_skips_fail_in_ci(tmp_path: Path) -> None:
    status, output = run_suite(tmp_path, SKIPS, "true")
    assert status == 1
    assert output.splitlines()[-1].startswith("1 failed, 4 errors in")
    assert output.count("CI=true forbids: Skipped: no eggs") >= len(SKIPS)


def test_skips_are_skips_elsewhere(tmp_path: Path) -> None:
    status, output = run_suite(tmp_path, SKIPS, "")
    assert status in (0, 5)
    assert output.splitlines()[-1].startswith(f"{len(SKIPS)} skipped in")


def test_expected_failure_stays_one_in_ci(tmp_path: Path) -> None:
    status, output = run_suite(tmp_path, {"": EXPECTED_FAILURE}, "true")
    assert status == 0
    assert "1 xfailed" in output
