"""Every result of the core is frozen, keyword-only, and says what each of its fields is.

Sides: the rule on every class of the core; each part seen failing on a planted snippet; the classes as Python
sees them after the decorator ran.
"""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
from collections.abc import Iterator

import pytest

from tests.architecture.sources import Source, list_decorators, parse_source, read_sources

GOOD_CLASS = '''
@dataclass(frozen=True, kw_only=True)
class Thing:
    """A thing that serves as an example."""

    size_m: float
    """Size of the thing in metres."""
    KINDS: ClassVar[int] = 3
    """How many kinds there are."""

    def grow(self) -> None:
        total: int = 3
'''


def find_dataclass_problems(source: Source) -> list[str]:
    """Name every class of one file that does not describe itself as a result has to."""
    classes = [node for node in ast.walk(source.tree) if isinstance(node, ast.ClassDef)]
    return [
        f"{source.name}:{node.lineno} {node.name} {problem}"
        for node in classes
        for problem in _find_class_problems(node)
    ]


def _find_class_problems(node: ast.ClassDef) -> Iterator[str]:
    if any(getattr(base, "id", "") in ("NamedTuple", "TypedDict") for base in node.bases):
        yield "is not a dataclass"
    if not any(name.split(".")[-1] == "dataclass" for name in list_decorators(node)):
        return
    if not (_is_switched_on(node, "frozen") and _is_switched_on(node, "kw_only")):
        yield "is not frozen and keyword-only"
    if not is_sentence(ast.get_docstring(node) or ""):
        yield "has no docstring that begins with a sentence"
    yield from (f"does not say in a sentence what {name} is" for name in _list_silent_fields(node))


def _is_switched_on(node: ast.ClassDef, name: str) -> bool:
    keywords = [word for item in node.decorator_list if isinstance(item, ast.Call) for word in item.keywords]
    return any(word.arg == name and getattr(word.value, "value", None) is True for word in keywords)


def _list_silent_fields(node: ast.ClassDef) -> list[str]:
    pairs = zip(node.body, [*node.body[1:], None], strict=True)
    return [
        ast.unparse(item.target)
        for item, after in pairs
        if isinstance(item, ast.AnnAssign) and not _is_sentence_literal(after)
    ]


def _is_sentence_literal(node: ast.AST | None) -> bool:
    value = getattr(node, "value", None) if isinstance(node, ast.Expr) else None
    return isinstance(value, ast.Constant) and isinstance(value.value, str) and is_sentence(value.value)


def is_sentence(text: str) -> bool:
    """Say whether a text is at least two words and ends its first paragraph as a sentence does."""
    first = text.strip().split("\n\n")[0]
    return len(first.split()) >= 2 and first.endswith((".", ":"))


def test_every_result_describes_itself() -> None:
    sources = read_sources("src/elbowroom/core")
    assert [problem for file in sources for problem in find_dataclass_problems(file)] == []


def test_python_agrees_that_results_are_frozen() -> None:
    modules = [importlib.import_module(file.module) for file in read_sources("src/elbowroom/core")]
    classes = {item for module in modules for _, item in inspect.getmembers(module, dataclasses.is_dataclass)}
    own = [item for item in classes if item.__module__.startswith("elbowroom.core")]
    assert len(own) > 5
    assert [item.__name__ for item in own if not item.__dataclass_params__.frozen] == []


BAD = {
    "not frozen": ("frozen=True, kw_only", "kw_only"),
    "frozen switched off": ("frozen=True", "frozen=False"),
    "not keyword-only": (", kw_only=True", ""),
    "bare decorator": ("(frozen=True, kw_only=True)", ""),
    "no docstring": ('"""A thing that serves as an example."""', ""),
    "silent field": ('"""Size of the thing in metres."""', ""),
    "field with a word only": ("Size of the thing in metres.", "Size."),
    "field without a sentence": ("in metres.", "in metres"),
    "silent class variable": ('"""How many kinds there are."""', ""),
    "named tuple": ("@dataclass(frozen=True, kw_only=True)\nclass Thing:", "class Thing(NamedTuple):"),
}


@pytest.mark.parametrize("case", BAD)
def test_rule_refuses(case: str) -> None:
    old, new = BAD[case]
    assert old in GOOD_CLASS
    assert find_dataclass_problems(parse_source(GOOD_CLASS.replace(old, new)))


def test_rule_allows() -> None:
    assert find_dataclass_problems(parse_source(GOOD_CLASS)) == []
