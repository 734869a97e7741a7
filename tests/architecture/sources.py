"""Every Python file of the house, parsed, and small readers of syntax trees that the rules share."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "elbowroom"
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, kw_only=True)
class Source:
    """One Python file."""

    name: str
    """Path from the root of the project, with slashes."""
    text: str
    """What the file holds."""
    tree: ast.Module
    """The file, parsed."""

    @property
    def module(self) -> str:
        """Dotted name of the module, for files below src."""
        parts = self.name.removeprefix("src/").removesuffix(".py").split("/")
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def parse_source(text: str, name: str = "src/elbowroom/core/snippet.py") -> Source:
    return Source(name=name, text=text, tree=ast.parse(text, name))


@cache
def read_sources(*folders: str) -> tuple[Source, ...]:
    """Read the Python files at or below folders (or the files) named from the root of the project."""
    paths = [path for folder in folders for path in _list_files(ROOT / folder)]
    return tuple(parse_source(path.read_text(encoding="utf-8"), path.relative_to(ROOT).as_posix()) for path in paths)


def _list_files(path: Path) -> list[Path]:
    return [path] if path.is_file() else sorted(path.rglob("*.py"))


def list_tracked_files() -> list[Path]:
    """List the files that git would hand on: tracked ones and new ones that it does not ignore."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    output = subprocess.run(command, cwd=ROOT, check=True, capture_output=True).stdout
    names = sorted(set(output.decode("utf-8").split("\0")) - {""})
    return [ROOT / name for name in names if (ROOT / name).is_file()]


def walk_functions(tree: ast.AST) -> Iterator[FunctionNode]:
    return (node for node in ast.walk(tree) if isinstance(node, FunctionNode))


def walk_imports(tree: ast.AST) -> Iterator[str]:
    """Yield what is imported anywhere in the file; `from a import b` yields `a` and `a.b`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or "."
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def find_dotted_name(node: ast.AST) -> str:
    """Return `a.b.c` for such an expression, else an empty string."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        base = find_dotted_name(node.value)
        return f"{base}.{node.attr}" if base else ""
    return ""


def list_decorators(node: ast.ClassDef | FunctionNode) -> list[str]:
    names = (item.func if isinstance(item, ast.Call) else item for item in node.decorator_list)
    return [find_dotted_name(name) for name in names]


def is_property(node: FunctionNode) -> bool:
    return any(name.split(".")[-1] in ("property", "cached_property") for name in list_decorators(node))


def expand_alias(name: str, tree: ast.AST) -> str:
    """Replace the first word of a dotted name by what it was imported as."""
    first, _, rest = name.partition(".")
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            module = f"{node.module}." if isinstance(node, ast.ImportFrom) else ""
            for alias in node.names:
                if first == (alias.asname or alias.name):
                    return f"{module}{alias.name}" + (f".{rest}" if rest else "")
    return name
