"""Small functions, short files, few arguments, shallow nesting; there is no list of exemptions.

Sides: the rule on every file of the house; each limit seen failing on a planted snippet that is one too large
and passing on one at the limit.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from statistics import median

import pytest

from tests.architecture.sources import ROOT, FunctionNode, Source, parse_source, read_sources, walk_functions

MOST_FUNCTION_LINES = 40
MEDIAN_FUNCTION_LINES = (4, 14)
MOST_FILE_LINES = 400
MOST_ARGUMENTS = 6
MOST_NESTING = 3
PLACES = ("src", "rendering", "benchmarks", "run.py")
BLOCKS = (ast.If, ast.For, ast.AsyncFor, ast.While, ast.With, ast.AsyncWith, ast.Try, ast.TryStar, ast.Match)


def count_lines(node: FunctionNode) -> int:
    """Count the physical lines of a function from `def` to its end, less those of its docstring."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if ast.get_docstring(node) is None:
        return lines
    return lines - ((first.end_lineno or first.lineno) - first.lineno + 1)


def count_arguments(node: FunctionNode, is_method: bool) -> int:
    """Count the arguments of a function, starred ones too; `self` and `cls` of a method do not count."""
    named = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    starred = [item for item in (node.args.vararg, node.args.kwarg) if item]
    has_self = is_method and bool(named) and named[0].arg in ("self", "cls")
    return len(named) + len(starred) - has_self


def measure_nesting(node: ast.AST) -> int:
    """Count how deep blocks lie in one another below a node; `elif` is as deep as its `if`."""
    return max((_measure_child(node, child) for child in ast.iter_child_nodes(node)), default=0)


def _measure_child(parent: ast.AST, child: ast.AST) -> int:
    if isinstance(child, FunctionNode | ast.ClassDef | ast.Lambda):
        return 0
    is_elif = isinstance(parent, ast.If) and isinstance(child, ast.If) and parent.orelse == [child]
    return measure_nesting(child) + (isinstance(child, BLOCKS) and not is_elif)


def find_size_problems(source: Source) -> list[str]:
    """Name everything in one file that is over a limit."""
    problems = [
        f"{source.name}:{node.lineno} {node.name} {problem}"
        for node, is_method in _walk_with_kind(source.tree)
        for problem in _find_function_problems(node, is_method)
    ]
    lines = len(source.text.splitlines())
    return problems + ([f"{source.name} has {lines} lines"] if lines > MOST_FILE_LINES else [])


def _walk_with_kind(tree: ast.AST) -> Iterator[tuple[FunctionNode, bool]]:
    classes = (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))
    methods = {id(item) for node in classes for item in node.body}
    return ((node, id(node) in methods) for node in walk_functions(tree))


def _find_function_problems(node: FunctionNode, is_method: bool) -> Iterator[str]:
    if count_lines(node) > MOST_FUNCTION_LINES:
        yield f"has {count_lines(node)} lines"
    if count_arguments(node, is_method) > MOST_ARGUMENTS:
        yield f"has {count_arguments(node, is_method)} arguments"
    if measure_nesting(node) > MOST_NESTING:
        yield f"nests {measure_nesting(node)} deep"


def _read_places() -> tuple[Source, ...]:
    return read_sources(*(place for place in PLACES if (ROOT / place).exists()))


def test_nothing_is_too_large() -> None:
    assert [problem for file in _read_places() for problem in find_size_problems(file)] == []


def test_usual_function_is_small() -> None:
    sizes = [count_lines(node) for file in read_sources("src") for node in walk_functions(file.tree)]
    low, high = MEDIAN_FUNCTION_LINES
    assert low <= median(sizes) <= high


def _write_function(lines: int, arguments: str = "", docstring: str = "") -> str:
    body = ["    x = 1"] * (lines - 1)
    return "\n".join([f"def make({arguments}):", *([f'    """{docstring}"""'] if docstring else []), *body])


DEEP = "def f():\n if a:\n  for b in c:\n   with d:\n    {}"
BAD = (
    _write_function(MOST_FUNCTION_LINES + 1),
    _write_function(MOST_FUNCTION_LINES + 1, docstring="One.\n\n    Two.\n    "),
    "\n".join(["x = 1"] * (MOST_FILE_LINES + 1)),
    _write_function(2, "a, b, c, d, e, f, g"),
    _write_function(2, "a, b, /, c, d, *e, f, **g"),
    _write_function(2, "self, a, b, c, d, e, f"),
    DEEP.format("try:\n     x\n    finally:\n     y"),
    DEEP.format("while x:\n     y"),
    "class A:\n " + "def f(this, a, b, c, d, e, g): pass",
    "def f():\n if a:\n  pass\n else:\n  if b:\n   x\n  y\n  for c in d:\n   if e:\n    if g:\n     h",
)
GOOD = (
    _write_function(MOST_FUNCTION_LINES),
    _write_function(MOST_FUNCTION_LINES, docstring="One.\n\n    Two.\n    "),
    "\n".join(["x = 1"] * MOST_FILE_LINES),
    _write_function(2, "a, b, c, d, *, e, f"),
    "class A:\n def f(self, a, b, c, d, e, g): pass",
    DEEP.format("x"),
    DEEP.format("def g():\n     if x:\n      y"),
    "def f():\n if a:\n  b\n elif c:\n  d\n elif e:\n  g\n elif h:\n  i\n else:\n  j",
)


@pytest.mark.parametrize("text", BAD)
def test_rule_refuses(text: str) -> None:
    assert find_size_problems(parse_source(text))


@pytest.mark.parametrize("text", GOOD)
def test_rule_allows(text: str) -> None:
    assert find_size_problems(parse_source(text)) == []
