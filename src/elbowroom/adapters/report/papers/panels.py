"""Gauges and curves for paper: lines as SVG without words, and the words as labels that the template places."""

from __future__ import annotations

from typing import Any

from elbowroom.adapters.report.curves import BOTTOM, LEFT, RIGHT, DrawnCurve
from elbowroom.adapters.report.gauges import Gauge, Label
from elbowroom.service.wording_types import Verbatim

INK, DEEP, SOFT, RULE, ZONE = "#17262b", "#17414b", "#5b6b70", "#d3dcdb", "#dfeae5"
DASHES = ("", "9 4", "2 4", "12 4 2 4", "5 2")
"""Lines of the throws, told apart by their dashes."""
GAUGE_SIZE, CURVE_SIZE = (520, 112), (560, 264)
NEAR_PX = 76
"""Two limits nearer than this have their labels turned away from one another."""


def build_gauge_panel(gauge: Gauge) -> dict[str, Any]:
    """Return a gauge as drawing, labels and words."""
    start, end = gauge.accepted
    shapes = [f'<rect x="{start:.1f}" y="26" width="{end - start:.1f}" height="36" fill="{ZONE}"/>']
    shapes += [_trace(f"M{limit.place_px:.1f} 20V66", INK, 2) for limit in gauge.limits]
    shapes += [_trace(f"M{aim.place_px:.1f} 62l-5 8h10Z", INK, 1.6) for aim in gauge.aim]
    shapes += [
        _trace(f"M{a:.1f} 76H{c:.1f}M{a:.1f} 73v6M{c:.1f} 73v6M{b:.1f} 71v10", SOFT, 1.6) for a, b, c in gauge.published
    ]
    low, high = gauge.interval
    shapes.append(_trace(f"M{low:.1f} 44H{high:.1f}M{low:.1f} 36v16M{high:.1f} 36v16", DEEP, 4))
    shapes += [_trace(f"M{place:.1f} 54v8", INK, 2) for place in gauge.throws]
    shapes.append(
        f'<circle cx="{gauge.value.place_px:.1f}" cy="44" r="7" fill="#ffffff" stroke="{DEEP}" stroke-width="4"/>'
    )
    shapes.append(_trace("M26 88H494" + "".join(f"M{tick.place_px:.1f} 88v5" for tick in gauge.ticks), SOFT, 1))
    labels = [_label(tick, 106, "middle") for tick in gauge.ticks]
    return _build(GAUGE_SIZE, shapes, [*_place_limits(gauge), *labels], gauge.description)


def build_curve_panel(curve: DrawnCurve) -> dict[str, Any]:
    """Return a panel of curves as drawing, labels and words."""
    shapes = [_trace(f"M{LEFT} {tick.place_px:.1f}H{RIGHT}", RULE, 1) for tick in curve.value_ticks]
    if curve.zero_px is not None:
        shapes.append(_trace(f"M{LEFT} {curve.zero_px:.1f}H{RIGHT}", SOFT, 1))
    marks = "".join(f"M{tick.place_px:.1f} {BOTTOM}v5" for tick in curve.time_ticks)
    shapes.append(_trace(f"M{LEFT} {BOTTOM}H{RIGHT}{marks}", SOFT, 1))
    shapes += [f'<path d="{line.band}" fill="{DEEP}" fill-opacity="0.11"/>' for line in curve.lines if line.band]
    shapes += [
        _trace(line.path, DEEP, 2.2, DASHES[place % len(DASHES)]) for place, line in enumerate(curve.lines) if line.path
    ]
    shapes += [_trace(f"M{mark.place_px:.1f} {19 + 18 * mark.row}V{BOTTOM}", INK, 1, "1 3") for mark in curve.instants]
    labels = [
        {"x": LEFT - 6, "y": tick.place_px + 4, "text": tick.text, "anchor": Verbatim("end")}
        for tick in curve.value_ticks
    ]
    labels += [_label(tick, 258, "middle") for tick in curve.time_ticks]
    labels += [_label(mark, 14 + 18 * mark.row, _anchor(mark)) for mark in curve.instants]
    return _build(CURVE_SIZE, shapes, labels, curve.description)


def build_line_key(place: int) -> Verbatim:
    """Return a piece of a throw's line, for the key."""
    return Verbatim(_wrap((44, 20), [_trace("M2 10H42", DEEP, 2.2, DASHES[place % len(DASHES)])]))


def _build(size: tuple[int, int], shapes: list[str], labels: list[dict[str, Any]], alt: str) -> dict[str, Any]:
    return {"svg": Verbatim(_wrap(size, shapes)), "labels": labels, "alt": alt, "width": size[0], "height": size[1]}


def _wrap(size: tuple[int, int], shapes: list[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size[0]} {size[1]}" width="{size[0]}" '
        f'height="{size[1]}">{"".join(shapes)}</svg>'
    )


def _trace(path: str, colour: str, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"{dashed}/>'


def _label(label: Label, y: float, anchor: str) -> dict[str, Any]:
    return {"x": label.place_px, "y": y, "text": label.text, "anchor": Verbatim(anchor)}


def _place_limits(gauge: Gauge) -> list[dict[str, Any]]:
    places = [limit.place_px for limit in gauge.limits]
    is_near = len(places) == 2 and places[1] - places[0] < NEAR_PX
    anchors = ("end", "start") if is_near else ("middle", "middle")
    return [_label(limit, 14, anchor) for limit, anchor in zip(gauge.limits, anchors, strict=False)]


def _anchor(mark: Label) -> str:
    if mark.place_px > 515:
        return "end"
    return "start" if mark.place_px < 80 else "middle"
