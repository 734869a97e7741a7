"""Use cases: how the clinic reads and judges, and how long it keeps whom; every version stays."""

from __future__ import annotations

from dataclasses import dataclass, replace

from elbowroom.core.findings.types import DecisionRule
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.errors import RecordError
from elbowroom.service.clinic_types import SettingsEntry
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, ClinicEntry
from elbowroom.service.record_values import Stamp

MOST_YEARS = 120
"""Longest time that a rule of retention may name."""


@dataclass(frozen=True, kw_only=True)
class ClinicSettings:
    """How the clinic reads and judges now."""

    version: int
    """Version of the settings; 0 where they are as elbowroom comes."""
    lengths: LengthUnit
    """How lengths are shown."""
    rule: DecisionRule
    """When a probability becomes a verdict."""


def find_settings(tools: RecordTools) -> ClinicSettings:
    """Return the settings that hold, those that elbowroom comes with where nobody changed them."""
    entries = tools.entries.find_entries(SettingsEntry)
    if not entries:
        return ClinicSettings(version=0, lengths=LengthUnit.CENTIMETRES, rule=DecisionRule())
    newest = entries[-1]
    rule = DecisionRule(
        beyond_from_probability=newest.beyond_from_probability, within_to_probability=newest.within_to_probability
    )
    return ClinicSettings(version=newest.version, lengths=newest.lengths, rule=rule)


def build_settings(version: int, lengths: str, rule: DecisionRule) -> ClinicSettings:
    """Return settings; `lengths` is cm or in."""
    return ClinicSettings(version=version, lengths=LengthUnit(lengths), rule=rule)


def list_settings(tools: RecordTools) -> tuple[SettingsEntry, ...]:
    """Return every version of the settings, oldest first."""
    return tools.entries.find_entries(SettingsEntry)


def change_settings(tools: RecordTools, wanted: ClinicSettings, reason: str, stamp: Stamp) -> None:
    """Add a version of the settings on top of the one that `wanted` carries.

    Raises `RecordError` for a rule that could not decide, `ConflictError` where somebody else changed them since.
    """
    check_rule(wanted.rule)
    entry = SettingsEntry(
        id=tools.make_id(),
        version=wanted.version + 1,
        lengths=wanted.lengths,
        beyond_from_probability=wanted.rule.beyond_from_probability,
        within_to_probability=wanted.rule.within_to_probability,
        reason=reason.strip(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.CORRECTED, what=f"settings, version {entry.version}")])


def check_rule(rule: DecisionRule) -> None:
    """Raise `RecordError` where the two probabilities would not leave each verdict its place."""
    if not 0.5 < rule.beyond_from_probability < 1:
        raise RecordError("A measure is `beyond` from a chance between 50 and 100 %: give a number between them.")
    if not 0 < rule.within_to_probability < 0.5:
        raise RecordError("A measure is `within` up to a chance between 0 and 50 %: give a number between them.")


def get_clinic(tools: RecordTools) -> ClinicEntry:
    """Return the clinic as it is now."""
    return tools.entries.find_entries(ClinicEntry)[-1]


def list_clinic_versions(tools: RecordTools) -> tuple[ClinicEntry, ...]:
    """Return every version of the clinic with its rule of retention, oldest first."""
    return tools.entries.find_entries(ClinicEntry)


def change_retention(tools: RecordTools, keep_years: int, until_age: int, known: int, stamp: Stamp) -> None:
    """Add a version of the clinic with another rule of retention; 0 states none. Nobody is removed by it."""
    if not (0 <= keep_years <= MOST_YEARS and 0 <= until_age <= MOST_YEARS):
        raise RecordError(f"Years to keep are whole numbers from 0 to {MOST_YEARS}: correct them.")
    entry = replace(
        get_clinic(tools),
        id=tools.make_id(),
        version=known + 1,
        keep_years=keep_years,
        keep_until_age_years=until_age,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.CORRECTED, what=f"clinic, version {entry.version}")])
