"""Use cases: a whole visit against an earlier one, and how many throws the next retest needs."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from elbowroom.core.findings.types import Finding
from elbowroom.core.measures.types import MeasureDefinition
from elbowroom.core.plan.retest import NOT_KNOWN, Change, ChangeWord, Noise, VisitReading, judge_change
from elbowroom.core.plan.scatter import Scatter, estimate_scatter, estimate_visit_scatter
from elbowroom.core.plan.throws_needed import ThrowsNeeded, build_retest_errors, count_throws_needed
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import PlanError
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import get_screening, get_visit, read_screening
from elbowroom.service.record_tools import note_act
from elbowroom.service.record_types import Act, ScreeningEntry, VisitEntry
from elbowroom.service.record_values import Stamp
from elbowroom.service.report_values import StoredReport
from elbowroom.service.week_json import CAUTION, describe_change
from elbowroom.service.week_tools import WeekTools
from elbowroom.service.week_types import RetestEntry

WANTED_FACTOR = 1.5
"""Size of the change that the next retest should see, in smallest real changes of this one: a change of just that size
is called real only half of the time (chosen by this project)."""
MOST_ATHLETES = 200
"""Most athletes of the clinic whose visits are read for its own scatter."""


@dataclass(frozen=True, kw_only=True)
class MeasureChange:
    """One measure at both visits."""

    definition: MeasureDefinition
    """The measure."""
    before: Finding | Absent
    """What the earlier visit found, or that it did not have the measure."""
    after: Finding
    """What the later visit found."""
    change: Change | Absent
    """What may be said of the change, or why nothing may be."""
    noise: Noise
    """The scatter that it was judged with."""
    needed: ThrowsNeeded | Absent
    """Throws that the next retest needs to see a change half as large again as this one's limit."""


@dataclass(frozen=True, kw_only=True)
class VisitComparison:
    """A whole visit against an earlier one."""

    earlier: VisitEntry
    """The earlier visit."""
    later: VisitEntry
    """The later visit."""
    changes: tuple[MeasureChange, ...]
    """Every measure of the later report, the headline ones first."""

    def count_words(self) -> dict[str, int]:
        """Return how many measures have each word."""
        words = [item.change.word for item in self.changes if isinstance(item.change, Change)]
        return {str(word): words.count(word) for word in ChangeWord}


def compare_visits(tools: WeekTools, athlete_id: str, visit_ids: tuple[str, str] | None = None) -> VisitComparison:
    """Return a visit held against an earlier one: the last two screened visits where none are named.

    Raises `PlanError` where there are not two, or they belong to different athletes.
    """
    earlier, later = _find_pair(tools, athlete_id, visit_ids)
    before, after = (read_screening(tools.clinic, get_screening(tools.record, one.id)) for one in (earlier, later))
    old = {finding.definition.key: finding for finding in before.findings}
    clinic = _read_clinic_scatter(tools, athlete_id)
    lengths = find_settings(tools.record).lengths
    changes = []
    for finding in after.findings:
        first = old.get(finding.definition.key, Absent(reason="The earlier visit did not have this measure."))
        noise = _find_noise(first, finding, clinic.get(finding.definition.key, Noise()))
        change: Change | Absent = first if isinstance(first, Absent) else NOT_KNOWN
        if not isinstance(first, Absent):
            change = judge_change(
                _build_reading(earlier, first), _build_reading(later, finding), noise, lengths=lengths
            )
        changes.append(
            MeasureChange(
                definition=finding.definition,
                before=first,
                after=finding,
                change=change,
                noise=noise,
                needed=_find_needed(finding, noise, change),
            )
        )
    ordered = sorted(changes, key=lambda item: not item.definition.headline)
    return VisitComparison(earlier=earlier, later=later, changes=tuple(ordered))


def keep_retest(tools: WeekTools, comparison: VisitComparison, stamp: Stamp) -> RetestEntry:
    """Keep a comparison as it was judged, and return the entry."""
    entry = RetestEntry(
        id=tools.record.make_id(),
        athlete_id=comparison.later.athlete_id,
        earlier_visit_id=comparison.earlier.id,
        later_visit_id=comparison.later.id,
        changes=json.dumps(describe_comparison(comparison)["changes"], ensure_ascii=False),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.record.entries.add_entries([entry, note_act(tools.record, stamp, Act.ADDED, entry.athlete_id, "retest")])
    return entry


def describe_comparison(comparison: VisitComparison) -> dict[str, object]:
    """Return a comparison as JSON values."""
    return {
        "kind": "retest",
        "earlier": comparison.earlier.made_on.isoformat(),
        "later": comparison.later.made_on.isoformat(),
        "words": comparison.count_words(),
        "changes": [
            {
                "measure": item.definition.key,
                "words": item.definition.words,
                **describe_change(item.change),
                "throws_needed": item.needed.count if isinstance(item.needed, ThrowsNeeded) else None,
            }
            for item in comparison.changes
        ],
        "caution": CAUTION,
    }


def _find_pair(tools: WeekTools, athlete_id: str, visit_ids: tuple[str, str] | None) -> tuple[VisitEntry, VisitEntry]:
    if visit_ids is not None:
        pair = [get_visit(tools.record, visit_id) for visit_id in visit_ids]
    else:
        pair = list(list_screened_visits(tools, athlete_id)[-2:])
    if len(pair) < 2 or pair[0].id == pair[1].id:
        raise PlanError("A retest needs two screened visits: film the athlete again.")
    if any(visit.athlete_id != athlete_id for visit in pair):
        raise PlanError("The two visits belong to different athletes: choose two of one athlete.")
    earlier, later = sorted(pair, key=lambda visit: (visit.made_on, visit.recorded_at))
    return earlier, later


def list_screened_visits(tools: WeekTools, athlete_id: str) -> tuple[VisitEntry, ...]:
    """Return the visits of an athlete that have a screening, oldest first."""
    screened = {item.visit_id for item in tools.record.entries.find_entries(ScreeningEntry, athlete_id=athlete_id)}
    visits = tools.record.entries.find_entries(VisitEntry, athlete_id=athlete_id)
    held = [visit for visit in visits if visit.id in screened]
    return tuple(sorted(held, key=lambda visit: (visit.made_on, visit.recorded_at)))


def _build_reading(visit: VisitEntry, finding: Finding) -> VisitReading:
    return VisitReading(made_on=visit.made_on, typical=finding.typical, throws=_list_values(finding))


def _list_values(finding: Finding) -> tuple[float, ...]:
    return tuple(item.value for item in finding.throws if isinstance(item, Uncertain))


def _find_noise(before: Finding | Absent, after: Finding, clinic: Noise) -> Noise:
    """Return the scatter of the athlete's own throws at both visits beside that of the clinic."""
    groups = [_list_values(item) for item in (before, after) if isinstance(item, Finding)]
    unit = after.typical.unit if isinstance(after.typical, Uncertain) else ""
    return Noise(own=estimate_scatter(groups, unit), clinic=clinic.clinic, visits=clinic.visits)


def _find_needed(finding: Finding, noise: Noise, change: Change | Absent) -> ThrowsNeeded | Absent:
    """Return the throws with which the next retest would see a change somewhat beyond what would be real now."""
    if isinstance(change, Absent) or not isinstance(noise.own, Scatter) or not isinstance(finding.typical, Uncertain):
        return Absent(reason="Without a scatter nobody can say how many throws are needed.")
    errors = build_retest_errors(finding.typical, noise.own.within_sd)
    return count_throws_needed(errors, WANTED_FACTOR * change.smallest_real_value)


def _read_clinic_scatter(tools: WeekTools, but_athlete_id: str) -> Mapping[str, Noise]:
    """Return, by measure, how throws and visits of the clinic's other athletes scatter."""
    throws: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    pairs: dict[str, list[tuple[float, float]]] = defaultdict(list)
    units: dict[str, str] = {}
    for line in tools.record.lists.list_athletes("", MOST_ATHLETES):
        if line.athlete_id == but_athlete_id or line.visit_count < 2:
            continue
        visits = list_screened_visits(tools, line.athlete_id)[-2:]
        reports = [read_screening(tools.clinic, get_screening(tools.record, visit.id)) for visit in visits]
        for key, found in _group_findings(reports).items():
            units[key] = found[-1][1].unit
            throws[key] += [_list_values(finding) for finding, _ in found]
            pairs[key] += [(found[0][1].value, found[1][1].value)] if len(found) == 2 else []
    return {
        key: Noise(clinic=estimate_scatter(throws[key], unit), visits=estimate_visit_scatter(pairs[key], unit))
        for key, unit in units.items()
    }


def _group_findings(reports: Sequence[StoredReport]) -> dict[str, list[tuple[Finding, Uncertain]]]:
    found: dict[str, list[tuple[Finding, Uncertain]]] = defaultdict(list)
    for report in reports:
        for finding in report.findings:
            if isinstance(finding.typical, Uncertain):
                found[finding.definition.key].append((finding, finding.typical))
    return found
