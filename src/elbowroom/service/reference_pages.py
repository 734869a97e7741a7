"""Reference pages whose text comes from the code, so that a document test can hold the files against it."""

from __future__ import annotations

from collections.abc import Iterable

from elbowroom.core.instants.model import TIMING_MODEL
from elbowroom.core.measures.registry import RULES
from elbowroom.core.measures.rules import EVERY_KIND, MeasureRule, Permit

INTRODUCTION = """# Measures

Generated from the registry of measures; change the registry, not this page.

Everything holds for a right-hander: a left-hander is mirrored on entry. Field frame: x to the target, z up, y to the
glove side of someone who faces the target; its origin is the middle of the pivot foot at lift. The trunk's long axis
runs from the middle of the hips to the middle of the shoulders. The hand is the middle of the knuckles, the head the
middle of the ears. Angles are in degrees, lengths in metres.

A measure that cannot be had says why. Each value carries its uncertainty by source; the four headline measures are
marked with *.
"""

NEEDS = {
    Permit.POSITIONS: "",
    Permit.TIMES: "true picture times",
    Permit.SLOW_RATES: "a rate that carries the turning of pelvis and trunk",
    Permit.FAST_RATES: "a rate that carries the turning of the arm",
}


def render_measures_page() -> str:
    """Return the Markdown page of all measures and of the instants' own uncertainty."""
    return "\n".join([INTRODUCTION, *_render_rules(RULES), *_render_instants()]) + "\n"


def _render_rules(rules: Iterable[MeasureRule]) -> list[str]:
    head = ["| measure | key | unit | definition | sign | needs | source |", "|---|---|---|---|---|---|---|"]
    return head + [_render_rule(rule) for rule in rules]


def _render_rule(rule: MeasureRule) -> str:
    item = rule.definition
    words = f"{item.words} *" if item.headline else item.words
    cells = (words, f"`{item.key}`", item.unit, item.definition, item.sign, _phrase_needs(rule), item.source)
    return "| " + " | ".join(cells) + " |"


def _phrase_needs(rule: MeasureRule) -> str:
    needs = [name.value for name in rule.needs]
    needs += ["direction to the target"] if rule.needs_target else []
    needs += [NEEDS[rule.permit]] if NEEDS[rule.permit] else []
    needs += [] if rule.kinds == EVERY_KIND else ["only: " + ", ".join(kind.value for kind in rule.kinds)]
    return "; ".join(needs)


def _render_instants() -> list[str]:
    head = ["", "## Instants", "", "| instant | rule's own standard uncertainty | origin |", "|---|---|---|"]
    rows = [
        f"| {name.value} | {1000 * error.standard_s:.0f} ms | {error.origin} |" for name, error in TIMING_MODEL.items()
    ]
    return head + rows
