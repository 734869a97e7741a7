"""The line that shows a finding: accepted range, aim, typical throw with its interval, and each throw."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf

from elbowroom.adapters.report.scales import Axis, build_axis, find_ticks
from elbowroom.core.findings.phrases import name_verdict, phrase_limits
from elbowroom.core.findings.types import Finding, PublishedBand, Tolerance
from elbowroom.core.quantities.phrases import LengthUnit, convert_shown_value, phrase_number, phrase_uncertain
from elbowroom.core.quantities.types import Uncertain

WIDTH, LEFT, RIGHT = 520, 26, 494
TICKS = 6


@dataclass(frozen=True, kw_only=True)
class Label:
    """A word or number at a place."""

    place_px: float
    """Place along the line."""
    text: str
    """What is written there."""
    row: int = 0
    """Row of the label where several rows keep labels apart."""


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """Everything that the drawing of one finding needs, in drawing units."""

    description: str
    """The drawing in a sentence, for those who cannot see it."""
    accepted: tuple[float, float]
    """Start and end of the accepted range."""
    limits: tuple[Label, ...]
    """The limits with their numbers."""
    aim: tuple[Label, ...]
    """The aim, if there is one."""
    interval: tuple[float, float]
    """Start and end of the 95 % interval."""
    value: Label
    """The typical throw."""
    throws: tuple[float, ...]
    """Each throw's value."""
    published: tuple[tuple[float, float, float], ...]
    """Mean and one SD to either side of each published band: start, mean, end."""
    ticks: tuple[Label, ...]
    """Round numbers along the line."""


def build_gauge(finding: Finding, bands: tuple[PublishedBand, ...], lengths: LengthUnit) -> Gauge | None:
    """Return the drawing of a finding, None where there is no value or no tolerance to draw."""
    typical, tolerance = finding.typical, finding.tolerance
    if not (isinstance(typical, Uncertain) and isinstance(tolerance, Tolerance)):
        return None
    throws = [item.value for item in finding.throws if isinstance(item, Uncertain)]
    axis = _build_finding_axis(typical, tolerance, throws, bands)
    limits = [limit for limit in (tolerance.lower, tolerance.upper) if not isinf(limit)]
    return Gauge(
        description=_describe(finding, typical, tolerance, lengths),
        accepted=(axis.locate_px(tolerance.lower), axis.locate_px(tolerance.upper)),
        limits=tuple(_label(axis, limit, typical.unit, lengths) for limit in limits),
        aim=() if tolerance.aim is None else (_label(axis, tolerance.aim, typical.unit, lengths),),
        interval=(axis.locate_px(typical.interval[0]), axis.locate_px(typical.interval[1])),
        value=_label(axis, typical.value, typical.unit, lengths),
        throws=tuple(axis.locate_px(value) for value in throws),
        published=tuple(_place_band(axis, band) for band in bands if band.is_seen),
        ticks=_build_ticks(axis, typical.unit, lengths),
    )


def _build_finding_axis(
    typical: Uncertain, tolerance: Tolerance, throws: list[float], bands: tuple[PublishedBand, ...]
) -> Axis:
    aims = [] if tolerance.aim is None else [tolerance.aim]
    shown = [edge for band in bands if band.is_seen for edge in (band.mean - band.sd, band.mean + band.sd)]
    numbers = [tolerance.lower, tolerance.upper, *typical.interval, *throws, *aims, *shown]
    return build_axis(numbers, LEFT, RIGHT, margin=0.1)


def _label(axis: Axis, number: float, unit: str, lengths: LengthUnit) -> Label:
    return Label(place_px=axis.locate_px(number), text=phrase_number(number, unit, lengths))


def _place_band(axis: Axis, band: PublishedBand) -> tuple[float, float, float]:
    return axis.locate_px(band.mean - band.sd), axis.locate_px(band.mean), axis.locate_px(band.mean + band.sd)


def _build_ticks(axis: Axis, unit: str, lengths: LengthUnit) -> tuple[Label, ...]:
    """Return ticks at round numbers of the unit in which the value is shown."""
    factor = convert_shown_value(1.0, unit, lengths)
    shown = Axis(low=axis.low * factor, high=axis.high * factor, start=axis.start, end=axis.end)
    ticks = find_ticks(shown, TICKS)
    return tuple(
        Label(place_px=shown.locate_px(tick), text=f"{tick:g}".replace("-", "\N{MINUS SIGN}")) for tick in ticks
    )


def _describe(finding: Finding, typical: Uncertain, tolerance: Tolerance, lengths: LengthUnit) -> str:
    words = finding.definition.words
    start = words[:1].upper() + words[1:]
    aim = "" if tolerance.aim is None else f", aim {phrase_number(tolerance.aim, tolerance.unit, lengths)}"
    return (
        f"{start}: {phrase_uncertain(typical, lengths)}; accepted {phrase_limits(tolerance, lengths)}{aim}; "
        f"{name_verdict(finding.verdict)}."
    )
