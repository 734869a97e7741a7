"""From the loads of a visit to what the page shows: every number already in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from elbowroom.core.findings.report import LoadFinding, LoadsCard
from elbowroom.core.loads.definitions import LARGEST
from elbowroom.core.loads.types import LoadBand, LoadChange
from elbowroom.core.quantities.phrases import LengthUnit, choose_decimals, phrase_number, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain

LENGTHS = LengthUnit.CENTIMETRES
"""Loads hold no lengths, so the clinic's unit of length makes no difference."""
LOAD_WORDS = {
    "title": "What the arm bears",
    "lead": "Worked out by a model from the motion, the body tables and the ball. Each line has its 95 % band. A load "
    "is an estimate to compare with this athlete's own next visit; there is no safe or unsafe value here.",
    "caption": "Loads of the typical throw",
    "load": "Load",
    "value": "Typical throw",
    "share": "By body size",
    "source": "What dominates the interval, share of variance",
    "throws": "Each throw",
    "changes": "What would change it",
    "changes_lead": "A model's answer about this motion, not a promise about this athlete: the motion is moved along "
    "one measure, the rest is held as stated, bones keep their lengths, feet stay where they were.",
    "bands": "Published values, each by its own method",
    "bands_lead": "Laboratories differ from one another by two to four times, through body tables, the ball, smoothing "
    "and axes. The numbers of two methods cannot be mixed, and none of them is a limit.",
    "band_load": "Load",
    "group": "Group",
    "found": "Found",
    "method": "Method",
    "band_source": "Source",
    "definitions": "What each load means",
    "absent": "Loads were not worked out.",
    "no_sd": "spread not given",
    "memory": "from memory, for reference only",
    "cannot_tell": "the model cannot tell which way",
}
"""Every word of the loads' section."""
CAUTIONS = (
    "Loads treat forearm and hand as rigid rods between joint centres; the forearm's turn about itself is not seen.",
    "Muscles that pull against one another load a joint beyond these numbers, which are the net result.",
    "Published relations between a movement and a load compare different people; they do not promise that a change "
    "will spare this athlete a load.",
)
"""Said under the loads."""


@dataclass(frozen=True, kw_only=True)
class LoadRow:
    """One load as the page writes it."""

    words: str
    """Name, capitalised."""
    value: str
    """Typical throw in words, or why there is none."""
    share: str
    """The same by body size, or an empty text."""
    source: str
    """What dominates the interval, or an empty text."""
    throws: str
    """Each throw's value."""
    definition: str
    """What it means, with its sign."""


@dataclass(frozen=True, kw_only=True)
class ChangeRow:
    """One move as the page writes it."""

    words: str
    """The move, capitalised: `With the elbow bent 10° more`."""
    held: str
    """What was held."""
    answers: tuple[str, ...]
    """A clause for each load."""


def build_load_rows(card: LoadsCard) -> tuple[LoadRow, ...]:
    """Return every load in words."""
    return tuple(_build_row(finding) for finding in card.findings)


def build_change_rows(card: LoadsCard) -> tuple[ChangeRow, ...]:
    """Return what would change the loads, in words."""
    return tuple(_build_change(change) for change in card.changes)


def build_band_rows(card: LoadsCard) -> tuple[tuple[str, str, str, str, str], ...]:
    """Return load, group, numbers, method and source of every published band."""
    return tuple(
        (_capitalise(finding.definition.words), band.group, phrase_load_band(band), band.method, band.source)
        for finding in card.findings
        for band in finding.bands
    )


def phrase_load_band(band: LoadBand) -> str:
    """Return a band in words, with what is known of it."""
    mean = phrase_number(band.mean, band.unit, LENGTHS)
    sd = LOAD_WORDS["no_sd"] if isinstance(band.sd, Absent) else f"SD {phrase_number(band.sd, band.unit, LENGTHS)}"
    return f"mean {mean}, {sd}" if band.is_seen else f"mean {mean}, {sd} ({LOAD_WORDS['memory']})"


def phrase_change(words: str, change: Obtained) -> str:
    """Return a change in words: `largest elbow varus moment: 4 N m more, give or take 3 (95 %)`."""
    if isinstance(change, Absent):
        return f"{words}: {change.reason}"
    decimals = choose_decimals(change.half_width)
    size = phrase_number(abs(change.value), change.unit, LENGTHS, decimals)
    width = phrase_number(change.half_width, "1", LENGTHS, decimals)
    way = "more" if change.value > 0 else "less"
    is_open = change.interval[0] < 0 < change.interval[1]
    tail = f"; {LOAD_WORDS['cannot_tell']}" if is_open else ""
    return f"{words}: {size} {way}, give or take {width} (95 %){tail}"


def _build_row(finding: LoadFinding) -> LoadRow:
    definition = finding.definition
    return LoadRow(
        words=_capitalise(definition.words),
        value=_phrase(finding.typical),
        share=_phrase(finding.typical_share) if isinstance(finding.typical, Uncertain) else "",
        source=_phrase_dominant(finding.typical),
        throws=_list_values(finding.throws),
        definition=f"{definition.definition} {_capitalise(definition.sign)}",
    )


def _build_change(change: LoadChange) -> ChangeRow:
    words = {definition.key: definition.words for definition in LARGEST.values()}
    return ChangeRow(
        words=f"With {change.move.words}",
        held=change.move.held,
        answers=tuple(_capitalise(phrase_change(words[key], value)) for key, value in change.changes.items()),
    )


def _phrase(quantity: Obtained) -> str:
    return quantity.reason if isinstance(quantity, Absent) else phrase_uncertain(quantity, LENGTHS)


def _phrase_dominant(quantity: Obtained) -> str:
    if isinstance(quantity, Absent) or isinstance(quantity.dominant, Absent):
        return ""
    return f"{quantity.dominant.source}, {100 * quantity.dominant.standard**2 / quantity.standard**2:.0f} %"


def _list_values(throws: Sequence[Obtained]) -> str:
    return ", ".join(f"{value.value:.0f}" if isinstance(value, Uncertain) else "—" for value in throws)


def _capitalise(words: str) -> str:
    return words[:1].upper() + words[1:]
