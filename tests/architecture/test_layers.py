"""The order of the house: who may import whom.

Sides: the rule on every file of the package; each part of the rule seen failing on a planted snippet; what
`import elbowroom` does, observed from outside in a fresh process.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

import pytest

from tests.architecture.sources import PACKAGE, Source, parse_source, read_sources, walk_imports

WIRING = (
    "bootstrap",
    "bootstrap_exchange",
    "bootstrap_filming",
    "bootstrap_jobs",
    "bootstrap_pages",
    "bootstrap_papers",
    "bootstrap_plan",
    "bootstrap_review",
    "bootstrap_weeks",
    "bootstrap_web",  # each on a line of its own, the last one for the pages
)
"""The only modules that say which adapter stands behind which use case."""

LAYERS = (
    ("errors", ()),
    ("tables", ()),
    ("settings", ("errors",)),
    ("core", ("errors", "core")),
    ("service", ("errors", "core", "service")),
    ("adapters", ("errors", "core", "service types", "adapters")),
    ("bootstrap", ("errors", "settings", "core", "service", "adapters")),
    ("bootstrap_exchange", ("errors", "settings", "core", "service", "adapters", "bootstrap")),
    ("bootstrap_filming", ("errors", "core", "service", "adapters", "bootstrap")),
    ("bootstrap_pages", ("errors", "settings", "core", "service", "adapters", "bootstrap")),
    ("bootstrap_jobs", ("errors", "settings", "core", "service", "adapters", "bootstrap", "bootstrap_pages")),
    ("bootstrap_papers", ("errors", "settings", "core", "service", "adapters", "bootstrap", "bootstrap_papers")),
    ("bootstrap_plan", ("errors", "settings", "core", "service", "adapters")),
    ("bootstrap_review", ("errors", "settings", "core", "service", "adapters", "bootstrap", "bootstrap_pages")),
    ("bootstrap_weeks", ("errors", "settings", "core", "service", "adapters", "bootstrap_pages")),
    ("bootstrap_web", ("errors", "settings", "core", "service", "adapters", *WIRING)),
    ("web", ("errors", "settings", "core types", "service", *WIRING, "web")),
    ("cli", ("errors", "settings", "core types", "service", *WIRING, "web", "cli")),
    ("__main__", ("cli",)),
)
"""The layers from the ground up, each with what it may import; an adapter may import only itself.

`tables` holds data files, which adapters open as resources.
"""

STAGES = (
    "quantities",
    "geometry",
    "clips",
    "landmarks",
    "throws",
    "cameras",
    "clocks",
    "reconstruction",
    "instants",
    "measures",
    "loads",
    "findings",
    "plan",
)
"""The stages of the core in the order of the data; a stage knows the words of earlier ones only."""

CHAIN = "chain"
"""The one folder beside the stages: it alone calls functions of several, to join them."""

GROUND_STAGES = ("quantities", "geometry")
"""Stages whose functions later stages may call."""

WORD_MODULES = ("types", "names", "report")
"""Modules of a stage that hold what later stages may know of it: its types, names of things, what a report holds."""

SERVICE_TYPES = ("visit_plan", "ports", "record_types", "record_values")
"""Modules of the service that adapters may know: frozen values that they make or take in, and Protocols."""

SERVICE_TYPE_ENDINGS = ("_types", "_values", "_ports")
"""Later modules of that sort end in one of these."""

CORE_LIBRARIES = ("numpy", "scipy")

CORE_STANDARD_LIBRARY = (
    *("__future__", "abc", "bisect", "cmath", "collections", "contextlib", "copy", "dataclasses", "datetime"),
    *("enum", "fractions", "functools", "hashlib", "heapq", "itertools", "math", "numbers", "operator"),
    *("re", "statistics", "string", "struct", "textwrap", "types", "typing"),
)
"""What the core may use of the standard library: no files, clock, log, network or chance."""


def find_layer_problems(source: Source) -> list[str]:
    """Name every import of one file that the order of the house forbids."""
    own = [name for name in walk_imports(source.tree) if name.split(".")[0] == "elbowroom"]
    problems = [name for name in own if not _is_allowed(source.module, name)]
    if source.module.startswith("elbowroom.core"):
        problems += [name for name in walk_imports(source.tree) if not _is_core_library(name)]
    return [f"{source.name} imports {name}" for name in sorted(set(problems))]


def _is_allowed(importer: str, imported: str) -> bool:
    if imported == "elbowroom" or imported == "elbowroom.__version__":
        return True
    layer, target = importer.split(".")[1:2], imported.split(".")[1:]
    if not layer:
        return False
    if layer == ["core"] and target[0] == "core":
        return _is_allowed_stage(importer.split(".")[2:], target[1:])
    if layer == ["adapters"] and target[0] == "adapters":
        return importer.split(".")[2:3] == target[1:2]
    allowed = dict(LAYERS).get(layer[0], ())
    if target[0] == "service" and "service types" in allowed:
        return len(target) < 2 or target[1] in SERVICE_TYPES or target[1].endswith(SERVICE_TYPE_ENDINGS)
    has_words_only = "core types" in allowed and target[0] == "core"
    return target[0] in allowed or (has_words_only and (len(target) < 3 or target[2] in WORD_MODULES))


def _is_allowed_stage(importer: list[str], imported: list[str]) -> bool:
    if importer[:1] == [CHAIN]:
        return True
    if not importer or not imported or imported[0] not in STAGES or importer[0] not in STAGES:
        return False
    here, there = STAGES.index(importer[0]), STAGES.index(imported[0])
    if here == there:
        return True
    is_word = len(imported) > 1 and imported[1] in WORD_MODULES
    return there < here and (imported[0] in GROUND_STAGES or is_word or len(imported) == 1)


def _is_core_library(name: str) -> bool:
    first = name.split(".")[0]
    if first == "scipy" and name.split(".")[1:2] == ["io"]:
        return False
    return first in ("elbowroom", *CORE_LIBRARIES, *CORE_STANDARD_LIBRARY)


def find_wiring_problems(sources: Iterator[Source] | tuple[Source, ...]) -> list[str]:
    """Name every file outside adapters and bootstrap that imports an adapter."""
    return [
        f"{source.name} imports {name}"
        for source in sources
        for name in walk_imports(source.tree)
        if name.startswith("elbowroom.adapters")
        and not source.module.startswith(("elbowroom.adapters", "elbowroom.bootstrap"))
    ]


def test_every_file_keeps_to_the_order() -> None:
    assert [problem for file in read_sources("src") for problem in find_layer_problems(file)] == []


def test_only_bootstrap_wires_adapters() -> None:
    assert find_wiring_problems(read_sources("src")) == []


def test_layers_only_name_lower_layers_or_themselves() -> None:
    names = [name for name, _ in LAYERS]
    for height, (_, allowed) in enumerate(LAYERS):
        assert {name.removesuffix(" types") for name in allowed} <= set(names[: height + 1])


def test_every_folder_of_the_core_is_a_stage() -> None:
    folders = {path.name for path in (PACKAGE / "core").iterdir() if path.is_dir()} - {"__pycache__"}
    files = {path.stem for path in (PACKAGE / "core").glob("*.py")}
    assert folders - {CHAIN} == set(STAGES)
    assert files <= {"__init__", CHAIN}


def test_every_top_folder_is_a_layer() -> None:
    names = {path.stem for path in PACKAGE.iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()}
    assert names - {"__init__"} <= {name for name, _ in LAYERS}


BAD = (
    ("core/measures/angles.py", "from elbowroom.core.instants.find import find_release"),
    ("core/clips/types.py", "from elbowroom.core.findings.types import Finding"),
    ("core/quantities/types.py", "import elbowroom.core.geometry.lines"),
    ("core/measures/angles.py", "import elbowroom.core.chain"),
    ("core/measures/angles.py", "from elbowroom.core.chain.types import ClipThrows"),
    ("core/chain/visit.py", "from elbowroom.service.ports import Detector"),
    ("core/measures/angles.py", "import logging"),
    ("core/measures/angles.py", "from random import gauss"),
    ("core/measures/angles.py", "def f():\n    from pathlib import Path"),
    ("core/measures/angles.py", "import scipy.io"),
    ("core/measures/angles.py", "import cv2"),
    ("core/measures/angles.py", "from elbowroom.adapters.video import read"),
    ("core/measures/angles.py", "from elbowroom.service.ports import Detector"),
    ("core/measures/angles.py", "from .angles import x"),
    ("adapters/video/read.py", "from elbowroom.adapters.report import render"),
    ("adapters/video/read.py", "from elbowroom.adapters import report"),
    ("adapters/video.py", "from elbowroom.service import screening"),
    ("adapters/video.py", "from elbowroom.service.screening import screen_visit"),
    ("service/screen.py", "from elbowroom.adapters.video import read"),
    ("service/screen.py", "import elbowroom.bootstrap"),
    ("cli/screen.py", "from elbowroom.core.chain import run"),
    ("cli/screen.py", "from elbowroom.core.measures.angles import measure"),
    ("web/page.py", "from elbowroom.cli import main"),
    ("errors.py", "import elbowroom.settings"),
    ("elsewhere.py", "import elbowroom.errors"),
)
GOOD = (
    ("core/measures/angles.py", "from elbowroom.core.instants.types import Instants"),
    ("core/measures/angles.py", "from elbowroom.core.geometry.lines import find_angle"),
    ("core/measures/angles.py", "from elbowroom.core.measures.table import ROWS"),
    ("core/measures/angles.py", "import numpy as np\nfrom scipy.spatial.transform import Rotation"),
    ("core/chain/visit.py", "from elbowroom.core.measures.angles import measure"),
    ("adapters/video/read.py", "import av\nfrom elbowroom.adapters.video.table import read"),
    ("service/screen.py", "from elbowroom.core.chain import run"),
    ("adapters/visit_files/reading.py", "from elbowroom.service.visit_plan import VisitPlan"),
    ("bootstrap.py", "from elbowroom.adapters.video import read"),
    ("cli/screen.py", "from elbowroom.core.findings.types import Finding"),
)


@pytest.mark.parametrize(("name", "text"), BAD)
def test_rule_refuses(name: str, text: str) -> None:
    assert find_layer_problems(parse_source(text, f"src/elbowroom/{name}"))


@pytest.mark.parametrize(("name", "text"), GOOD)
def test_rule_allows(name: str, text: str) -> None:
    assert find_layer_problems(parse_source(text, f"src/elbowroom/{name}")) == []


def test_wiring_rule_refuses() -> None:
    file = parse_source("from elbowroom.adapters.video import read", "src/elbowroom/cli/screen.py")
    assert find_wiring_problems((file,))


OBSERVE_IMPORT = """
import sys
opened = []
sys.addaudithook(lambda event, args: event == "open" and opened.append(str(args[0])))
before = set(sys.modules)
import elbowroom
print(sorted(set(sys.modules) - before))
print([name for name in opened if not name.endswith((".py", ".pyc")) and ".pyc." not in name])
print("logging" in sys.modules and sys.modules["logging"].root.handlers or [])
"""


def test_import_does_nothing_else() -> None:
    command = [sys.executable, "-c", OBSERVE_IMPORT]
    result = subprocess.run(command, capture_output=True, text=True, check=True)
    assert result.stdout.splitlines() == ["['elbowroom']", "[]", "[]"]


def test_types_of_the_service_are_only_types() -> None:
    files = [path.stem for path in (PACKAGE / "service").glob("*.py")]
    later = [name for name in files if name.endswith(SERVICE_TYPE_ENDINGS)]
    for name in sorted({*SERVICE_TYPES, *later}):
        (file,) = read_sources(f"src/elbowroom/service/{name}.py")
        kinds = {type(node).__name__ for node in file.tree.body}
        assert kinds <= {"Expr", "Import", "ImportFrom", "ClassDef"}, file.name
