"""Curves over time with their 95 % bands and the instants, as paths to draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.report.gauges import Label
from elbowroom.adapters.report.scales import Axis, build_axis, find_ticks
from elbowroom.core.findings.report import Curve, CurveLine, ThrowCard
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit, convert_shown_value, phrase_unit
from elbowroom.core.quantities.types import Uncertain

Array = NDArray[np.float64]

LEFT, RIGHT, TOP, BOTTOM = 46, 548, 68, 240
ROWS = 3
"""Rows of labels above the panel."""
LETTER = 8.6
"""Width of a letter of the instants' labels, generously."""
STRAIGHT = 2
"""Fewest points of a drawable stretch."""


@dataclass(frozen=True, kw_only=True)
class DrawnLine:
    """One throw's curve."""

    throw: int
    """Number of the throw."""
    path: str
    """Path of the best estimate."""
    band: str
    """Closed path of the 95 % band."""


@dataclass(frozen=True, kw_only=True)
class DrawnCurve:
    """One panel of curves."""

    words: str
    """Name of the measure."""
    unit: str
    """Unit as written."""
    sign: str
    """What plus and minus mean."""
    description: str
    """The panel in a sentence or two, for those who cannot see it."""
    lines: tuple[DrawnLine, ...]
    """One line a throw."""
    instants: tuple[Label, ...]
    """The instants, mean over the throws."""
    time_ticks: tuple[Label, ...]
    """Round times."""
    value_ticks: tuple[Label, ...]
    """Round values."""
    zero_px: float | None
    """Place of zero where it lies inside the panel."""


@dataclass(frozen=True, kw_only=True)
class TimeZero:
    """Where time counts from in each throw."""

    starts_s: dict[int, float]
    """Time on the visit clock that counts as zero, by number of throw."""
    is_foot_contact: bool
    """Whether every throw counts from foot contact."""


def find_time_zero(throws: Sequence[ThrowCard]) -> TimeZero:
    """Return foot contact of every throw, or the first instant that was found where one throw has none."""
    contacts = {throw.number: throw.instants.find(InstantName.FOOT_CONTACT) for throw in throws}
    found = {number: time.value for number, time in contacts.items() if isinstance(time, Uncertain)}
    if len(found) == len(contacts):
        return TimeZero(starts_s=found, is_foot_contact=True)
    return TimeZero(starts_s={throw.number: _find_first(throw) for throw in throws}, is_foot_contact=False)


def draw_curve(curve: Curve, throws: Sequence[ThrowCard], zero: TimeZero, lengths: LengthUnit) -> DrawnCurve:
    """Return the panel of a curve, all throws over one time axis."""
    factor = convert_shown_value(1.0, curve.unit, lengths)
    times = [_shift(line, zero) for line in curve.lines]
    time_axis = build_axis([float(t) for row in times if row.size for t in (row[0], row[-1])], LEFT, RIGHT, margin=0)
    edges = [edge for line in curve.lines for edge in _find_edges(line, factor)]
    value_axis = build_axis(edges, BOTTOM, TOP, margin=0.06)
    lines = tuple(
        _draw_line(line, row, factor, (time_axis, value_axis)) for line, row in zip(curve.lines, times, strict=True)
    )
    unit = phrase_unit(curve.unit, lengths)
    return DrawnCurve(
        words=curve.words,
        unit=unit,
        sign=curve.sign,
        description=_describe(curve, factor, unit),
        lines=lines,
        instants=_place_instants(throws, zero, time_axis),
        time_ticks=_place_ticks(time_axis, 6),
        value_ticks=_place_ticks(value_axis, 5),
        zero_px=value_axis.locate_px(0.0) if value_axis.has_number(0.0) else None,
    )


def _find_first(throw: ThrowCard) -> float:
    found = [time.value for time in throw.instants.times.values() if isinstance(time, Uncertain)]
    return min(found, default=0.0)


def _shift(line: CurveLine, zero: TimeZero) -> Array:
    shifted: Array = line.times_s - zero.starts_s.get(line.throw, 0.0)
    return shifted


def _find_edges(line: CurveLine, factor: float) -> tuple[float, ...]:
    """Return the least and greatest value that the line reaches, and its band where that stays near."""
    values, widths = line.values * factor, line.half_widths * factor
    known = np.isfinite(values)
    if not known.any():
        return ()
    low, high = float(values[known].min()), float(values[known].max())
    room = max(high - low, 1e-9)
    below, above = float(np.nanmin(values - widths)), float(np.nanmax(values + widths))
    return low, high, max(below, low - room), min(above, high + room)


def _draw_line(line: CurveLine, times: Array, factor: float, axes: tuple[Axis, Axis]) -> DrawnLine:
    stretches = _find_stretches(np.isfinite(line.values) & np.isfinite(line.half_widths))
    paths, bands = [], []
    for part in stretches:
        values, widths = line.values[part] * factor, line.half_widths[part] * factor
        paths.append(_trace(times[part], values, axes))
        back = _trace(times[part][::-1], (values - widths)[::-1], axes)
        bands.append(f"{_trace(times[part], values + widths, axes)} L{back[1:]} Z")
    return DrawnLine(throw=line.throw, path=" ".join(paths), band=" ".join(bands))


def _find_stretches(known: NDArray[np.bool_]) -> list[slice]:
    """Return the runs of at least two known points."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(np.int8)))
    runs = zip(edges[::2], edges[1::2], strict=True)
    return [slice(int(start), int(end)) for start, end in runs if end - start >= STRAIGHT]


def _trace(times: Array, values: Array, axes: tuple[Axis, Axis]) -> str:
    points = (f"{axes[0].locate_px(t):.1f} {axes[1].locate_px(v):.1f}" for t, v in zip(times, values, strict=True))
    return "M" + " L".join(points)


def _place_instants(throws: Sequence[ThrowCard], zero: TimeZero, axis: Axis) -> tuple[Label, ...]:
    """Return the mean place of every instant that lies on the axis, in rows so that labels do not touch."""
    means = {name: _find_mean_time(throws, zero, name) for name in InstantName}
    placed = [
        (axis.locate_px(mean), str(name)) for name, mean in means.items() if mean is not None and axis.has_number(mean)
    ]
    labels: list[Label] = []
    filled: dict[int, float] = {}
    for place, text in sorted(placed):
        half = LETTER * len(text) / 2
        row = next((row for row in range(ROWS) if filled.get(row, 0.0) <= place - half), ROWS - 1)
        filled[row] = place + half
        labels.append(Label(place_px=place, text=text, row=row))
    return tuple(labels)


def _find_mean_time(throws: Sequence[ThrowCard], zero: TimeZero, name: InstantName) -> float | None:
    found = [
        time.value - zero.starts_s[throw.number]
        for throw in throws
        if isinstance(time := throw.instants.find(name), Uncertain)
    ]
    return sum(found) / len(found) if found else None


def _place_ticks(axis: Axis, count: int) -> tuple[Label, ...]:
    return tuple(
        Label(place_px=axis.locate_px(tick), text=f"{tick:.6g}".replace("-", "\N{MINUS SIGN}"))
        for tick in find_ticks(axis, count)
    )


def _describe(curve: Curve, factor: float, unit: str) -> str:
    known = [float(value) * factor for line in curve.lines for value in line.values if np.isfinite(value)]
    start = f"{curve.words[:1].upper()}{curve.words[1:]} over time, {len(curve.lines)} throws"
    if not known:
        return f"{start}: nowhere defined."
    return f"{start}: from {min(known):.0f} to {max(known):.0f} {unit}.".replace(" °", "°").replace("-", "−")
