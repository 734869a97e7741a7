"""Types and lint hold over the whole house.

Sides: the tools themselves, run as a developer runs them; each seen failing on a planted file.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.architecture.sources import ROOT

CHECKED = ("src", "tests", "rendering", "benchmarks", "run.py")


def run_tool(*words: str) -> tuple[int, str]:
    command = [sys.executable, "-m", *words]
    result = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return result.returncode, result.stdout + result.stderr


def list_checked() -> list[str]:
    return [name for name in CHECKED if (ROOT / name).exists()]


def test_types_are_strict() -> None:
    status, output = run_tool("mypy", "--strict")
    assert status == 0, output


def test_lint_is_clean() -> None:
    status, output = run_tool("ruff", "check", "--output-format=concise", *list_checked())
    assert status == 0, output


def test_format_is_kept() -> None:
    status, output = run_tool("ruff", "format", "--check", *list_checked())
    unformatted = [line.split("--> ")[-1] for line in output.splitlines() if "--> " in line]
    assert status == 0, unformatted or output


def test_type_tool_refuses(tmp_path: Path) -> None:
    (tmp_path / "bad.py").write_text("def f(a):\n    return a\n", encoding="utf-8")
    status, output = run_tool("mypy", "--strict", str(tmp_path / "bad.py"))
    assert status == 1
    assert "no-untyped-def" in output


def test_lint_tool_refuses(tmp_path: Path) -> None:
    text = "def find_it():\n    import os, sys\n    print(1)\n    try: pass\n    except: pass\n"
    (tmp_path / "bad.py").write_text(text, encoding="utf-8")
    config = str(ROOT / "pyproject.toml")
    status, output = run_tool("ruff", "check", "--config", config, str(tmp_path))
    assert status == 1
    for rule in ("D100", "D103", "T201", "F401", "E722"):
        assert rule in output
