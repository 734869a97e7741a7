"""Makes the catalogues: `python -m tests.makers.catalogue` writes the template and brings the languages up to date.

What is said to families and clinicians comes from three places: values that can be listed (measures, enumerations,
words of the pages, tables), reasons and advice of what is absent (every `Absent(...)`, read from the source), and the
sentences of functions that phrase and describe (read from the source as well). An f-string becomes a message with a
place for each value.
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from elbowroom.adapters.languages.reading_back import SENTENCES
from elbowroom.adapters.report import loads, words
from elbowroom.adapters.report.papers import clinical, family
from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.drill_tables import read_drills
from elbowroom.adapters.tables.landmark_tables import read_landmark_tables
from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.adapters.tables.tolerances import read_tolerances
from elbowroom.core.cameras.set_up import Ground
from elbowroom.core.cameras.types import View
from elbowroom.core.findings import phrases
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.instants.types import InstantName
from elbowroom.core.loads import definitions, moves
from elbowroom.core.loads.types import BallKind, Sex
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.measures.series import SERIES
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Source
from elbowroom.service import chart_note, method, plain_words, summary

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "elbowroom"
LOCALE = PACKAGE / "locale"
TEMPLATE = LOCALE / "elbowroom.pot"
LANGUAGES = ("es",)
LETTERS = re.compile(r"[^\W\d_]{2,}")
SHOWN_PLACES = (
    *(
        f"core/{stage}"
        for stage in ("chain", "clips", "clocks", "findings", "instants", "landmarks", "loads", "measures")
    ),
    *("core/quantities", "core/reconstruction", "core/throws", "core/cameras/set_up.py", "adapters/report"),
    *(f"service/{name}.py" for name in ("cards", "pictures", "family_page", "chart_note", "summary", "screening")),
    *("service/from_thrower.py", "adapters/video/clip_file.py", "adapters/tables/loads.py"),
)
"""Where the sentences of reports and papers are made; what refuses a set-up or a file is not among them."""
KEYWORDS = frozenset(
    {"reason", "advice", "caption", "description", "how", "note", "what", "body", "disagreement", "held", "answer"}
)
"""Arguments whose texts are shown."""
PHRASING = re.compile(r"_?(?:phrase|describe|explain|join_source|find_reason|name_subject|name_cut)")
"""Functions whose texts are shown."""
NEVER_SHOWN = (
    *(f"adapters/report/papers/{name}.py" for name in ("panels", "figure", "typeset")),
    *("adapters/report/json_file.py", "adapters/report/kept.py"),
)
"""Modules below those places that say nothing to readers."""
HAND = (
    *("{count} throw", "{count} throws", "{count} clip", "{count} clips", "throw {number}", "throw", "{side} hand"),
    *("{size} more", "{size} less", "{limits}, aim {aim}", "{start}: from {low} to {high}°."),
    *("{value} years", "clock of clip {number}", "{source}, {share} %", "{value}, seen by {count} cameras"),
    *("Athlete", "Age", "Height", "Throwing hand", "Phones", "Throws measured", "Kind of throw", "Drills:", "Retest"),
    *("Screened on", "Throwing screening", "Made with", "No measure could be held against its limits."),
    *("Measures without a verdict: {missing}, see the clinical report.", "With {move}"),
    *(
        "Throw {number}: {what} in pictures {first} to {last}. {why}",
        "arms exchanged",
        "legs exchanged",
        "sides exchanged",
    ),
    "The {side} arm was put where no arm can have been, or nowhere clearly.",
    *("the times of instants", "the turning rates of pelvis and trunk", "the turning rates of the arm"),
    *("light landmark model", "large landmark model", "large landmark model, error tables {number}"),
    *("light landmark model, error tables {number}", "landmark errors", "tolerances, {name}"),
    "Errors of the landmark model ({name}): {how}",
    *("{sets} of {repeats}, {days} days a week", "{count} sets", "1 set"),
)
"""Pieces that functions put together from words."""


def collect_messages() -> dict[str, str]:
    """Collect every message with the place that it comes from."""
    found: dict[str, str] = {}
    for text, place in [*_walk_values(), *_walk_sources(), *((text, "by hand") for text in HAND)]:
        message = text.strip()
        bare = re.sub(r"\{\w+\}", "", message)
        if LETTERS.search(bare) and "_" not in bare:
            found.setdefault(message, place)
    return found


def _walk_values() -> Iterator[tuple[str, str]]:
    """Yield what can be listed by running the package."""
    for item in (*MEASURES, *SERIES, *definitions.LOADS, *definitions.LOAD_CURVES):
        yield from _walk_fields(item, ("words", "definition", "sign", "source", "held"), "measures and loads")
    for move in moves.MOVES:
        yield move.definition.words, "what would change loads"
    for kind in (VerdictWord, InstantName, View, ThrowKind, ThrowingHand, Source, BallKind, Sex, Ground):
        yield from ((str(member), kind.__name__) for member in kind)
    for row in read_tolerances():
        yield from _walk_fields(row, ("consequence_reason", "source"), "tolerances.csv")
        yield from ((sentence, "tolerances.csv") for sentence in SENTENCES.split(row.note))
    for band in (*read_published_bands(), *read_load_tables().bands):
        yield from _walk_fields(band, ("group", "method"), "published bands")
    shown = (
        *(words.WORDS, words.CAUTIONS, words.COMPARISON_CAUTION, words.RULE_SENTENCE, loads.LOAD_WORDS, loads.CAUTIONS),
        *(family.FAMILY_WORDS, family.DOCUMENT_TITLE, family.NOTHING, family.FIGURE_WORDS, clinical.CLINICAL_WORDS),
        *(clinical.DOCUMENT_TITLE, plain_words.SIGNS, plain_words.CAUTIONS, plain_words.WHEN, plain_words.STEMS),
        *(
            phrases.SETTLED_BY,
            phrases.UNKNOWN,
            summary.CAUTION,
            chart_note.LOADS_LEAD,
            chart_note.RULES_LEAD,
            chart_note.HELD,
        ),
    )
    for tree in shown:
        yield from ((text, "words of the papers") for text in _walk_texts(tree))
    for drill in read_drills(frozenset(measure.key for measure in MEASURES)):
        yield drill.name, "drills"
        yield from ((dose.note, "doses of drills") for dose in drill.doses)
    tables = read_landmark_tables("large")
    yield tables.how, "landmark tables"
    for part in method.list_method_parts(tables):
        yield part.title, "method"
    for name in dir(method):
        if name.isupper():
            yield getattr(method, name), "method"


def _walk_fields(item: Any, names: tuple[str, ...], place: str) -> Iterator[tuple[str, str]]:
    for name in names:
        value = getattr(item, name, "")
        if isinstance(value, str):
            yield value, place


def _walk_texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, Enum):
        return
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, dict):
        for value in tree.values():
            yield from _walk_texts(value)
    elif is_dataclass(tree):
        for field in fields(tree):
            yield from _walk_texts(getattr(tree, field.name))
    elif isinstance(tree, tuple | list):
        for item in tree:
            yield from _walk_texts(item)


def _walk_sources() -> Iterator[tuple[str, str]]:
    """Yield the texts of the source that are shown."""
    for place in SHOWN_PLACES:
        root = PACKAGE / place
        for path in [root] if root.is_file() else sorted(root.rglob("*.py")):
            name = path.relative_to(PACKAGE).as_posix()
            if name not in NEVER_SHOWN:
                yield from ((text, name) for text in _walk_module(ast.parse(path.read_text(encoding="utf-8"))))


def _walk_module(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield from (text for word in node.keywords if word.arg in KEYWORDS for text in _walk_shown(word.value))
            if getattr(node.func, "attr", "") == "append":
                yield from (text for item in node.args for text in _walk_shown(item))
        elif isinstance(node, ast.FunctionDef) and PHRASING.match(node.name):
            for inner in node.body[bool(ast.get_docstring(node)) :]:
                yield from _walk_shown(inner)
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id.isupper():
            is_text = isinstance(node.value, ast.Constant | ast.JoinedStr | ast.BinOp)
            yield from (text for text in _walk_shown(node.value) if is_text and " " in text)


def _walk_shown(node: ast.AST) -> Iterator[str]:
    """Yield the texts below a node, f-strings as messages with places; what is raised is not shown."""
    if isinstance(node, ast.Raise):
        return
    if isinstance(node, ast.JoinedStr):
        yield build_message(node)
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                yield from _walk_shown(part.value)
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
        return
    if isinstance(node, ast.Subscript | ast.Compare):
        return
    for child in ast.iter_child_nodes(node):
        yield from _walk_shown(child)


def build_message(node: ast.JoinedStr) -> str:
    """Return an f-string as a message whose places are named after what is put there."""
    names: list[str] = []
    parts = []
    for part in node.values:
        if isinstance(part, ast.Constant):
            parts.append(str(part.value).replace("{", "").replace("}", ""))
        elif isinstance(part, ast.FormattedValue):
            name = _name_value(part.value)
            name = name if name not in names else f"{name}_{len(names)}"
            names.append(name)
            parts.append(f"{{{name}}}")
    return "".join(parts)


def _name_value(node: ast.AST) -> str:
    named = (item for item in ast.walk(node) if isinstance(item, ast.Name | ast.Attribute))
    first = next((item.id if isinstance(item, ast.Name) else item.attr for item in named), "value")
    return first.strip("_").lower()


def build_catalogue() -> Catalog:
    """Return the template of all catalogues."""
    catalogue = Catalog(project="elbowroom", charset="utf-8", header_comment="# Messages of elbowroom.")
    for message, place in sorted(collect_messages().items()):
        catalogue.add(message, auto_comments=[place])
    return catalogue


def render_catalogue(catalogue: Catalog) -> str:
    """Return a catalogue as text, without days and versions that change by themselves."""
    for message in catalogue:
        # A per cent sign is a per cent sign: places are in braces.
        message.flags.discard("python-format")
    file = io.BytesIO()
    write_po(file, catalogue, width=120, omit_header=False, sort_output=True, no_location=True)
    lines = file.getvalue().decode("utf-8").splitlines()
    moving = (
        "POT-Creation-Date",
        "PO-Revision-Date",
        "Generated-By",
        "Last-Translator",
        "Report-Msgid-Bugs-To",
        "Language-Team",
    )
    kept = [line for line in lines if not any(line.startswith(f'"{name}') for name in moving)]
    return "\n".join(kept) + "\n"


def write_catalogues() -> None:
    """Write the template and every language, keeping what is translated and dropping what is no longer said."""
    template = build_catalogue()
    TEMPLATE.write_text(render_catalogue(template), encoding="utf-8")
    for language in LANGUAGES:
        path = LOCALE / language / "LC_MESSAGES" / "elbowroom.po"
        old = read_po(path.open("rb"), locale=language) if path.exists() else Catalog(locale=language)
        new = Catalog(project="elbowroom", locale=language, charset="utf-8", header_comment="# Messages of elbowroom.")
        for message in template:
            if message.id:
                known = old.get(message.id)
                new.add(message.id, known.string if known else "", auto_comments=message.auto_comments)
        path.write_text(render_catalogue(new), encoding="utf-8")


if __name__ == "__main__":
    write_catalogues()
