"""The core asks nothing of the world: no files, clock, chance, log or screen.

Sides: the rule on every file; each forbidden act seen refused in a planted snippet, also under another name.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from tests.architecture.sources import (
    Source,
    expand_alias,
    find_dotted_name,
    parse_source,
    read_sources,
    walk_imports,
)

FORBIDDEN_CALLS = ("print", "open", "input", "exec", "eval", "compile", "__import__", "breakpoint")
FORBIDDEN_NAMES = (
    *("datetime.datetime.now", "datetime.datetime.utcnow", "datetime.datetime.today", "datetime.date.today"),
    *("numpy.load", "numpy.save", "numpy.savez", "numpy.savez_compressed", "numpy.loadtxt", "numpy.savetxt"),
    *("numpy.genfromtxt", "numpy.fromfile", "numpy.memmap", "numpy.seterr", "numpy.set_printoptions"),
)
FORBIDDEN_MODULES = ("time", "random", "logging", "secrets", "uuid", "warnings")
ALLOWED_RANDOM = ("numpy.random.Generator",)
"""In the core, chance comes in as an argument of this type."""
ALLOWED_RANDOM_OUTSIDE = (*ALLOWED_RANDOM, "numpy.random.default_rng", "numpy.random.SeedSequence")


def find_impurities(source: Source) -> list[str]:
    """Name every act in a file of the core that depends on, or changes, something outside its arguments."""
    modules = [name for name in walk_imports(source.tree) if name.split(".")[0] in FORBIDDEN_MODULES]
    acts = [*_walk_calls(source), *_walk_names(source), *_walk_globals(source), *modules]
    return [f"{source.name} uses {act}" for act in sorted({*acts, *find_global_chance(source, ALLOWED_RANDOM)})]


def _walk_calls(source: Source) -> Iterator[str]:
    calls = (node for node in ast.walk(source.tree) if isinstance(node, ast.Call))
    return (name for call in calls if (name := find_dotted_name(call.func)) in FORBIDDEN_CALLS)


def _list_full_names(source: Source) -> list[str]:
    nodes = [node for node in ast.walk(source.tree) if isinstance(node, ast.Attribute | ast.Name)]
    used = {name for node in nodes if (name := find_dotted_name(node))}
    return sorted({expand_alias(name, source.tree) for name in used} | set(walk_imports(source.tree)))


def _walk_names(source: Source) -> Iterator[str]:
    return (name for name in _list_full_names(source) if name in FORBIDDEN_NAMES)


def _walk_globals(source: Source) -> Iterator[str]:
    return ("global " + ", ".join(n.names) for n in ast.walk(source.tree) if isinstance(n, ast.Global))


def find_global_chance(source: Source, allowed: tuple[str, ...]) -> list[str]:
    """Name every use of a random generator other than the allowed ways."""
    names = [name for name in _list_full_names(source) if name.startswith("numpy.random.")]
    modules = [name for name in walk_imports(source.tree) if name.split(".")[0] == "random"]
    unseeded = [
        "numpy.random.default_rng without a seed"
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Call) and not node.args and not node.keywords
        if expand_alias(find_dotted_name(node.func), source.tree) == "numpy.random.default_rng"
    ]
    strange = [name for name in names if not name.startswith(allowed)]
    return [f"{source.name} uses {name}" for name in [*strange, *modules, *unseeded]]


def test_core_is_pure() -> None:
    sources = read_sources("src/elbowroom/core")
    assert [problem for file in sources for problem in find_impurities(file)] == []


def test_chance_is_seeded_everywhere() -> None:
    sources = read_sources("src", "tests")
    problems = [item for file in sources for item in find_global_chance(file, ALLOWED_RANDOM_OUTSIDE)]
    assert problems == []


BAD = (
    "print(1)",
    "open('a')",
    "import time\nx = time.time()",
    "from time import monotonic",
    "from datetime import datetime\nx = datetime.now()",
    "import datetime\nx = datetime.datetime.now(datetime.UTC)",
    "from datetime import date as day\nx = day.today()",
    "import numpy as np\nx = np.random.normal()",
    "import numpy as np\nx = np.random.default_rng(3)",
    "from numpy.random import normal",
    "from numpy import random\nx = random.normal()",
    "import random",
    "import numpy\nx = numpy.load('a')",
    "from numpy import savetxt",
    "def f():\n    global x\n    x = 1",
    "import warnings",
)
GOOD = (
    "import numpy as np\ndef f(rng: np.random.Generator): return rng.normal()",
    "from numpy.random import Generator",
    "from datetime import date\ndef f(now: date): return now.year",
    "class A:\n    def print(self): return self.open()",
)
GLOBAL_CHANCE = (
    "import numpy as np\nnp.random.seed(1)",
    "import numpy as np\nnp.random.default_rng()",
    "from numpy.random import default_rng as make\nmake()",
    "from random import random",
)


@pytest.mark.parametrize("text", BAD)
def test_rule_refuses(text: str) -> None:
    assert find_impurities(parse_source(text))


@pytest.mark.parametrize("text", GOOD)
def test_rule_allows(text: str) -> None:
    assert find_impurities(parse_source(text)) == []


@pytest.mark.parametrize("text", GLOBAL_CHANCE)
def test_rule_refuses_global_chance(text: str) -> None:
    assert find_global_chance(parse_source(text), ALLOWED_RANDOM_OUTSIDE)


def test_rule_allows_seeded_chance() -> None:
    text = "import numpy as np\nrng = np.random.default_rng(7)"
    assert find_global_chance(parse_source(text), ALLOWED_RANDOM_OUTSIDE) == []
