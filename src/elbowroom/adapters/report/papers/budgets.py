"""Where each interval comes from: the parts of the budgets as shares of the variance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from elbowroom.adapters.report.pages import capitalise
from elbowroom.core.findings.types import Finding, NotMeasured
from elbowroom.core.quantities.phrases import LengthUnit, choose_decimals, convert_shown_value, phrase_number
from elbowroom.core.quantities.types import Source, Uncertain

LEAST_SHARE = 0.01
"""Parts below this share of the variance are left out of the table."""


@dataclass(frozen=True, kw_only=True)
class BudgetRow:
    """The budget of one measure as the table writes it."""

    words: str
    """Name of the measure, capitalised."""
    standard: str
    """Standard uncertainty of the typical throw in words."""
    parts: tuple[str, ...]
    """Each source with its share, largest first: `landmark noise, 62 %`."""


def build_budget_rows(findings: Sequence[Finding], lengths: LengthUnit) -> tuple[BudgetRow, ...]:
    """Return the budgets of the judged measures."""
    judged = [finding for finding in findings if not isinstance(finding.verdict, NotMeasured)]
    return tuple(
        _build_row(finding, finding.typical, lengths) for finding in judged if isinstance(finding.typical, Uncertain)
    )


def _build_row(finding: Finding, typical: Uncertain, lengths: LengthUnit) -> BudgetRow:
    decimals = choose_decimals(convert_shown_value(typical.standard, typical.unit, lengths))
    return BudgetRow(
        words=capitalise(finding.definition.words),
        standard=phrase_number(typical.standard, typical.unit, lengths, decimals),
        parts=tuple(f"{source}, {100 * share:.0f} %" for source, share in list_shares(typical)),
    )


def list_shares(typical: Uncertain) -> list[tuple[Source, float]]:
    """Return sources with their shares of the variance from `LEAST_SHARE` on, largest first; they sum to 1 at most."""
    whole = typical.standard**2
    summed = {part.source: 0.0 for part in typical.parts}
    for part in typical.parts:
        summed[part.source] += part.standard**2 / whole if whole else 0.0
    kept = [(source, share) for source, share in summed.items() if share >= LEAST_SHARE]
    return sorted(kept, key=lambda item: -item[1])
