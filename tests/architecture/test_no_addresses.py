"""What git hands on names no package source and no place on anyone's machine, and pins every package by hash.

Sides: the rule on every tracked file; each part seen failing on a planted text.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.architecture.sources import ROOT, list_tracked_files

REQUIREMENTS = ("requirements.txt", "requirements-more.txt", "requirements-test.txt")
LOCK = ROOT / "frontend" / "package-lock.json"
FORBIDDEN_FILES = ("uv.lock", "pip.conf", ".npmrc", ".pypirc", "uv.toml")

REGISTRY_HOSTS = r"(?:pypi|pythonhosted|npmjs|npmmirror|yarnpkg|unpkg|jsdelivr|anaconda|debian|ubuntu)"
ADDRESS = re.compile(rf"(?:https?|ftp|git\+\w+)://[\w.@:-]*\b{REGISTRY_HOSTS}\b", re.IGNORECASE)
HOST = re.compile(rf"\b(?:[\w-]+\.)*{REGISTRY_HOSTS}\.(?:org|com|net|io)\b", re.IGNORECASE)
SOURCE_OPTION = re.compile(r"--(?:extra-)?index-url[ =]\S+|--find-links[ =]\S+|registry[ =]+http", re.IGNORECASE)
# Written in pieces, so that this file keeps its own rule.
PLACES = re.compile("(?<![\\w.<-])/(?:" + "|".join(("wor" + "k", "hom" + "e", "roo" + "t", "Use" + "rs")) + r")/\w")
TEMPORARY = re.compile("(?<![\\w.<-])/(?:" + "|".join(("tm" + "p", "op" + "t")) + r")/\w")
RULES = {
    "the address of a package source": ADDRESS,
    "the host of a package source": HOST,
    "an option that names a package source": SOURCE_OPTION,
    "a place on one machine": PLACES,
    "a passing place on one machine": TEMPORARY,
}


def find_address_problems(text: str) -> list[str]:
    """Name every address or place in a text."""
    return [f"{what}: {match.group()}" for what, rule in RULES.items() for match in rule.finditer(text)]


def find_unhashed(text: str) -> list[str]:
    """Name every requirement of a requirements file that is not pinned by version and hash."""
    joined = text.replace("\\\n", " ")
    lines = [line.strip() for line in joined.splitlines() if line.strip() and not line.startswith("#")]
    return [line.split()[0] for line in lines if "==" not in line.split()[0] or "--hash=sha256:" not in line]


def read_text(path: Path) -> str:
    """Read a file; one that is no text reads as nothing."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def test_no_file_names_a_place() -> None:
    files = list_tracked_files()
    assert len(files) > 20
    problems = {file.relative_to(ROOT).as_posix(): find_address_problems(read_text(file)) for file in files}
    assert {name: found for name, found in problems.items() if found} == {}


def test_no_file_that_holds_addresses_is_tracked() -> None:
    assert [file.name for file in list_tracked_files() if file.name in FORBIDDEN_FILES] == []


def find_lock_problems(text: str) -> list[str]:
    """Name every package of a lock file of npm that says where it came from or is not pinned by hash."""
    packages = {name: item for name, item in json.loads(text)["packages"].items() if name}
    return [name for name, item in packages.items() if "resolved" in item or "sha512-" not in item.get("integrity", "")]


def test_page_libraries_are_hashed_and_name_no_source() -> None:
    assert find_lock_problems(LOCK.read_text(encoding="utf-8")) == []
    locks = [file for file in list_tracked_files() if file.name == "package-lock.json"]
    assert locks == [LOCK]


@pytest.mark.parametrize("item", ['{"integrity": "sha512-a", "resolved": "b"}', '{"version": "1"}'])
def test_lock_rule_refuses(item: str) -> None:
    assert find_lock_problems(f'{{"packages": {{"": {{}}, "a": {item}}}}}') == ["a"]


@pytest.mark.parametrize("name", REQUIREMENTS)
def test_every_requirement_is_hashed(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert "://" not in text
    assert find_unhashed(text) == []


def test_pins_of_each_set_up_are_among_those_of_the_next() -> None:
    runtime, more, test = ({line.split(" ;")[0] for line in _list_pins(ROOT / name)} for name in REQUIREMENTS)
    assert len(runtime) > 10
    assert runtime - more == set()
    assert more - test == set()


def _list_pins(path: Path) -> list[str]:
    return [line for line in path.read_text(encoding="utf-8").splitlines() if "==" in line and line[0] != "#"]


BAD = (
    "https" + "://files.python" + "hosted.org/packages/a",
    "git+ssh" + "://git@registry.npm" + "js.org/a",
    "see py" + "pi.org for it",
    "--index" + "-url http://mirror/simple",
    "--find" + "-links=folder",
    "registry" + "=http://mirror",
    "Path('/wor" + "k/main')",
    "cd /hom" + "e/someone",
    "'/tm" + "p/out'",
    '"/op' + 't/tool/bin"',
)
GOOD = (
    "https://example.org/a",
    "pip install elbowroom",
    "the PyPI package",
    "folder/work/main",
    "../shared/data",
    "<a href='/home'>",
)


@pytest.mark.parametrize("text", BAD)
def test_rule_refuses(text: str) -> None:
    assert find_address_problems(text)


@pytest.mark.parametrize("text", GOOD)
def test_rule_allows(text: str) -> None:
    assert find_address_problems(text) == []


@pytest.mark.parametrize("text", ["a==1.0\n", "a>=1 --hash=sha256:0\n", "a --hash=sha256:0 \\\n  ==1\n"])
def test_unhashed_requirement_is_refused(text: str) -> None:
    assert find_unhashed(text)


def test_hashed_requirement_is_allowed() -> None:
    assert find_unhashed("# a\na==1.0 ; python_version > '3' \\\n    --hash=sha256:0 \\\n    --hash=sha256:1\n") == []
