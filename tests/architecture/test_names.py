"""A public function begins with its kind of act; a bare number ends in its unit.

Sides: the rule on every file of the package; each part seen failing on a planted snippet; the lists of words
compared with the page that explains them (tests/documents).
"""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from tests.architecture.names import QUESTIONS, UNIT_BESIDE, UNITLESS, UNITS, VERBS
from tests.architecture.sources import FunctionNode, Source, is_property, parse_source, read_sources

FLOATS = ("float", "float | None", "float | Absent", "Absent | float", "None | float")


def walk_public_functions(tree: ast.Module) -> Iterator[FunctionNode]:
    """Yield functions of the module and methods of its classes that others may call."""
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and node.name[0] != "_"]
    nodes = [*tree.body, *(item for node in classes for item in node.body)]
    return (node for node in nodes if isinstance(node, FunctionNode) and node.name[0] != "_")


def find_verb_problems(source: Source) -> list[str]:
    """Name every public function that does not begin with its kind of act."""
    return [
        f"{source.name}:{node.lineno} {node.name} does not begin with a verb of the glossary"
        for node in walk_public_functions(source.tree)
        if not (is_property(node) or node.name == "main")
        if node.name.split("_")[0] not in (*VERBS, *QUESTIONS)
    ]


def find_question_problems(source: Source) -> list[str]:
    """Name every public function where `is_`, `has_` and a yes-or-no answer do not go together."""
    return [
        f"{source.name}:{node.lineno} {node.name} asks a question but does not answer bool"
        for node in walk_public_functions(source.tree)
        if node.name.split("_")[0] in QUESTIONS
        if node.returns is not None and not ast.unparse(node.returns).startswith(("bool", "TypeGuard", "TypeIs"))
    ]


def find_unit_problems(source: Source) -> list[str]:
    """Name every public bare number whose name does not say its unit."""
    return [
        f"{source.name}:{line} {name} does not end in its unit"
        for name, line in [*_walk_numbers(source.tree), *_walk_fields(source.tree)]
        if not has_unit(name)
    ]


def has_unit(name: str) -> bool:
    """Say whether a name ends in a unit, says that there is none, or ends in a word for which it stands beside."""
    words = name.split("_")
    if len(words) > 2 and words[-2] == "per":
        return words[-1] in UNITS
    if words[-1] in UNIT_BESIDE or set(words) & set(UNITLESS):
        return True
    return len(words) > 1 and words[-1] in UNITS


def _walk_numbers(tree: ast.Module) -> Iterator[tuple[str, int]]:
    for node in walk_public_functions(tree):
        if _is_float(node.returns):
            yield node.name, node.lineno
        for item in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs):
            if _is_float(item.annotation):
                yield item.arg, item.lineno


def _walk_fields(tree: ast.Module) -> Iterator[tuple[str, int]]:
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and node.name[0] != "_"]
    for item in (item for node in classes for item in node.body):
        if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name) and _is_float(item.annotation):
            yield item.target.id, item.lineno


def _is_float(annotation: ast.expr | None) -> bool:
    return annotation is not None and ast.unparse(annotation) in FLOATS


def test_functions_begin_with_their_act() -> None:
    assert [problem for file in read_sources("src") for problem in find_verb_problems(file)] == []


def test_questions_answer_yes_or_no() -> None:
    assert [problem for file in read_sources("src") for problem in find_question_problems(file)] == []


def test_bare_numbers_end_in_their_unit() -> None:
    assert [problem for file in read_sources("src") for problem in find_unit_problems(file)] == []


def test_words_stand_once() -> None:
    words = (*VERBS, *QUESTIONS)
    assert len(set(words)) == len(words)
    assert not set(UNITS) & set(UNITLESS)


BAD_VERBS = ("def angle_between(): pass", "def gettable(): pass", "class A:\n    def thrower(self): pass")
GOOD_VERBS = (
    "def find_release(): pass",
    "def _angle(): pass",
    "def is_late() -> bool: pass",
    "class A:\n    @property\n    def thrower(self): pass",
    "class _A:\n    def thrower(self): pass",
    "class A:\n    def __len__(self): pass",
)
BAD_QUESTIONS = ("def is_late() -> str: pass", "def has_release() -> float: pass")
BAD_UNITS = (
    "def find_release(gap: float): pass",
    "def find_release(*, gap: float | None = None): pass",
    "def measure_turn() -> float: pass",
    "class A:\n    gap: float",
    "class A:\n    gap: float | Absent",
    "class A:\n    gap_deg_per_metre: float",
    "def find_release(s: float): pass",
)
GOOD_UNITS = (
    "def find_release(gap_s: float, share: float): pass",
    "def measure_turn_deg() -> float: pass",
    "class A:\n    turning_deg_per_s: float\n    wrong_share: float",
    "def _find(gap: float) -> float: pass",
    "def find_release(gap: Uncertain, n: int): pass",
)


@pytest.mark.parametrize("text", BAD_VERBS)
def test_verb_rule_refuses(text: str) -> None:
    assert find_verb_problems(parse_source(text))


@pytest.mark.parametrize("text", GOOD_VERBS)
def test_verb_rule_allows(text: str) -> None:
    assert find_verb_problems(parse_source(text)) == []


@pytest.mark.parametrize("text", BAD_QUESTIONS)
def test_question_rule_refuses(text: str) -> None:
    assert find_question_problems(parse_source(text))


@pytest.mark.parametrize("text", BAD_UNITS)
def test_unit_rule_refuses(text: str) -> None:
    assert find_unit_problems(parse_source(text))


@pytest.mark.parametrize("text", GOOD_UNITS)
def test_unit_rule_allows(text: str) -> None:
    assert find_unit_problems(parse_source(text)) == []
