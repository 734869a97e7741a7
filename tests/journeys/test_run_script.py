"""The script that sets everything up: what it says, and what it does after an interruption.

Sides: the script run as a person runs it; its steps on an invented project with the installers replaced; the pin
of uv that it cuts out against the whole requirements file. (That the whole set-up works is shown by this suite
running at all: `python3 run.py test` made the environment it runs in.)
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "run.py"


class Recorder:
    """Stands for the installers: notes each command and says whether it worked."""

    def __init__(self, failing: str = "") -> None:
        self.commands: list[str] = []
        self.failing = failing

    def __call__(self, command: list[str], quiet: bool = False) -> bool:
        text = " ".join(command)
        if quiet:
            return Path(command[0]).exists()
        self.commands.append(text)
        if " -m venv " in text:
            python = Path(command[-1]) / "bin" / "python"
            python.parent.mkdir(parents=True, exist_ok=True)
            python.touch()
        return not (self.failing and self.failing in text)


@pytest.fixture
def script(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """Return the script, made to believe that a small invented folder is the project."""
    spec = importlib.util.spec_from_file_location("run_script", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    names = {"runtime": "requirements.txt", "more": "requirements-more.txt", "test": "requirements-test.txt"}
    pins = {kind: tmp_path / name for kind, name in names.items()}
    for path in (*pins.values(), tmp_path / "pyproject.toml"):
        path.write_text("uv==1 \\\n    --hash=sha256:0\nzlib==1\n", encoding="utf-8")
    venv = tmp_path / ".venv"
    places = {"ROOT": tmp_path, "VENV": venv, "PYTHON": venv / "bin" / "python", "PINS": pins}
    for name, value in {**places, "STAMP": venv / "elbowroom-ready"}.items():
        monkeypatch.setattr(module, name, value)
    return module


@contextmanager
def recording(script: ModuleType, failing: str = "") -> Iterator[list[str]]:
    recorder = Recorder(failing)
    script.does_run = recorder
    yield recorder.commands


def test_bare_call_says_what_there_is() -> None:
    result = subprocess.run([sys.executable, str(SCRIPT)], capture_output=True, text=True, check=False)
    assert result.returncode == 0
    assert "run.py demo" in result.stdout
    assert "run.py test" in result.stdout


def test_other_words_go_to_elbowroom() -> None:
    result = subprocess.run([sys.executable, str(SCRIPT), "no-such-word"], capture_output=True, text=True, check=False)
    assert result.returncode == 2
    assert "no-such-word" in result.stderr
    assert "Traceback" not in result.stderr


def test_second_set_up_does_nothing(script: ModuleType) -> None:
    with recording(script) as commands:
        assert script.set_up("runtime") == ""
        assert any("uv pip install" in command for command in commands)
        commands.clear()
        assert script.set_up("runtime") == ""
        assert commands == []


def test_test_set_up_serves_the_runtime_but_not_the_reverse(script: ModuleType) -> None:
    with recording(script) as commands:
        script.set_up("runtime")
        commands.clear()
        script.set_up("test")
        assert any("requirements-test.txt" in command for command in commands)
        commands.clear()
        script.set_up("runtime")
        assert commands == []


def test_what_was_set_up_once_is_kept_when_a_pin_changes(script: ModuleType) -> None:
    with recording(script) as commands:
        script.set_up("more")
        assert any("requirements-more.txt" in command for command in commands)
        commands.clear()
        assert script.set_up("runtime") == ""
        assert commands == []
        (script.ROOT / "pyproject.toml").write_text("changed", encoding="utf-8")
        script.set_up("runtime")
        assert any("requirements-more.txt" in command for command in commands)


@pytest.mark.parametrize(
    "name", ["requirements.txt", "requirements-more.txt", "requirements-test.txt", "pyproject.toml"]
)
def test_changed_pin_installs_again_in_place(script: ModuleType, name: str) -> None:
    with recording(script) as commands:
        script.set_up("runtime")
        commands.clear()
        (script.ROOT / name).write_text("uv==2 --hash=sha256:1\n", encoding="utf-8")
        script.set_up("runtime")
        assert len(commands) == 3
        assert not any(" -m venv " in command for command in commands)


def test_changed_script_of_a_page_installs_again(script: ModuleType) -> None:
    (script.ROOT / "frontend" / "src").mkdir(parents=True)
    for folder in ("src", "node_modules"):
        (script.ROOT / "frontend" / folder).mkdir(exist_ok=True)
        (script.ROOT / "frontend" / folder / "a.ts").write_text("1", encoding="utf-8")
    with recording(script) as commands:
        script.set_up("runtime")
        commands.clear()
        (script.ROOT / "frontend" / "node_modules" / "a.ts").write_text("2", encoding="utf-8")
        script.set_up("runtime")
        assert commands == []
        (script.ROOT / "frontend" / "src" / "a.ts").write_text("2", encoding="utf-8")
        script.set_up("runtime")
        assert any(" -e " in command for command in commands)


def test_changed_script_of_the_pages_is_made_again(script: ModuleType) -> None:
    source = script.ROOT / "frontend" / "src" / "page.ts"
    source.parent.mkdir(parents=True)
    source.write_text("first", encoding="utf-8")
    with recording(script) as commands:
        script.set_up("runtime")
        commands.clear()
        (script.ROOT / "frontend" / "node_modules").mkdir()
        (script.ROOT / "frontend" / "node_modules" / "other.js").write_text("other", encoding="utf-8")
        assert script.set_up("runtime") == ""
        assert commands == []
        source.write_text("second", encoding="utf-8")
        script.set_up("runtime")
        assert any(" -e " in command for command in commands)


@pytest.mark.parametrize("step", [" -m venv ", "requirements.txt", " -e "])
def test_interrupted_set_up_starts_anew(script: ModuleType, step: str) -> None:
    with recording(script, failing=step):
        assert script.set_up("runtime").endswith((".", "again."))
        assert not script.STAMP.exists()
    with recording(script) as commands:
        assert script.set_up("runtime") == ""
        assert "--clear" in commands[0]


def test_interrupted_renewal_starts_anew(script: ModuleType) -> None:
    with recording(script):
        script.set_up("runtime")
    (script.ROOT / "pyproject.toml").write_text("changed", encoding="utf-8")
    with recording(script, failing=" -e "):
        assert script.set_up("runtime")
    with recording(script) as commands:
        assert script.set_up("runtime") == ""
        assert "--clear" in commands[0]


def test_pip_steps_in_for_uv(script: ModuleType) -> None:
    with recording(script, failing="uv pip install") as commands:
        assert script.set_up("runtime") == ""
        assert any("-m pip install" in command and "requirements.txt" in command for command in commands)


@pytest.mark.parametrize(
    ("words", "is_spread"), [([], True), (["-q"], True), (["-n", "1"], False), (["tests/core"], False)]
)
def test_all_tests_run_on_every_core(
    script: ModuleType, monkeypatch: pytest.MonkeyPatch, words: list[str], is_spread: bool
) -> None:
    commands: list[list[str]] = []
    monkeypatch.setattr(script.subprocess, "call", lambda command, cwd: commands.append(command) or 0)
    assert script.run_tests(words) == 0
    assert ("-n" in commands[0][: -len(words) or None]) == is_spread
    assert commands[0][-len(words) :] == words or not words


def test_missing_python_part_is_named(script: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(script.importlib.util, "find_spec", lambda name: None)
    assert "python3-venv" in script.set_up("runtime")


def test_wrong_python_is_refused(script: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(script, "VERSIONS", ((3, 99),))
    monkeypatch.setenv("PATH", "")
    assert script.find_python() is None
    assert script.main(["demo"]) == 1


def test_fitting_python_on_the_path_is_used(script: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(script, "VERSIONS", ((3, 99),))
    monkeypatch.setattr(script, "does_fit", lambda python: True)
    name = "python3.99.exe" if os.name == "nt" else "python3.99"
    other = script.ROOT / name
    other.touch(mode=0o755)
    monkeypatch.setenv("PATH", str(script.ROOT))
    assert script.find_python() == str(other)


def test_pin_of_uv_is_cut_out_whole(script: ModuleType) -> None:
    seen: list[str] = []

    def note(command: list[str], quiet: bool = False) -> bool:
        seen.append(Path(command[-1]).read_text(encoding="utf-8"))
        return True

    script.does_run = note
    script.PINS = {"runtime": SCRIPT.parent / "requirements.txt"}
    assert script.install_uv(["pip"])
    assert seen[0].startswith("uv==")
    assert seen[0].count("==") == 1
    assert seen[0].count("--hash=sha256:") > 5
    assert seen[0] in script.PINS["runtime"].read_text(encoding="utf-8")
