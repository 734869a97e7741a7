"""Invented loads for reports: no number in them was measured, except the bands, which are the packaged ones."""

from __future__ import annotations

import numpy as np

from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.core.chain.bearing import choose_load_bands, describe_body, scale_load
from elbowroom.core.findings.report import Curve, CurveLine, LoadFinding, LoadsCard
from elbowroom.core.loads.definitions import LARGEST, LOAD_CURVES, LOADS
from elbowroom.core.loads.moves import MOVES
from elbowroom.core.loads.types import BallKind, LoadChange, Sex, Thrower
from elbowroom.core.quantities.budget import build_uncertain, combine_throws
from elbowroom.core.quantities.types import Absent, Source, Uncertain

THROWER = Thrower(age_years=13.4, height_m=1.62, mass_kg=51.0, sex=Sex.MALE, ball=BallKind.BASEBALL)
STRAIGHT = Absent(reason="The elbow is too straight there to say which way is varus.")


def make_load(value: float, unit: str) -> Uncertain:
    """Return an invented load whose budget the body tables dominate."""
    shares = {Source.LANDMARKS: 0.05, Source.BODY: 0.12, Source.SMOOTHING: 0.08}
    return build_uncertain(value, unit, {source: share * abs(value) for source, share in shares.items()})


def make_loads(starts_s: dict[int, float]) -> LoadsCard:
    """Return invented loads; `starts_s` gives foot contact of each throw by its number."""
    tables, findings = read_load_tables(), []
    for definition in LOADS:
        middle = 31.0 if definition.unit == "N m" else 420.0
        throws = tuple(make_load(middle + number, definition.unit) for number in starts_s)
        typical = STRAIGHT if definition.key == "elbow_varus_moment_at_layback" else combine_throws(throws)
        findings.append(
            LoadFinding(
                definition=definition,
                typical=typical,
                typical_share=scale_load(typical, THROWER),
                throws=throws,
                bands=choose_load_bands(tables.bands, definition.key, THROWER.age_years),
            )
        )
    changes = {
        "largest_elbow_varus_moment": build_uncertain(-3.0, "N m", {Source.LANDMARKS: 0.5}),
        "largest_shoulder_internal_rotation_moment": build_uncertain(2.0, "N m", {Source.LANDMARKS: 4.0}),
        "largest_shoulder_proximal_force": build_uncertain(12.0, "N", {Source.LANDMARKS: 3.0}),
        "largest_elbow_proximal_force": STRAIGHT,
    }
    assert set(changes) == {definition.key for definition in LARGEST.values()}
    return LoadsCard(
        findings=tuple(findings),
        curves=tuple(make_curve(place, starts_s) for place in range(len(LOAD_CURVES))),
        changes=tuple(LoadChange(move=rule.definition, changes=dict(changes)) for rule in MOVES),
        body=describe_body(THROWER, tables),
    )


def make_curve(place: int, starts_s: dict[int, float]) -> Curve:
    """Return an invented load through every throw, undefined for a stretch near the end."""
    item, lines = LOAD_CURVES[place], []
    times = np.arange(-0.05, 0.21, 0.002)
    for number, start_s in starts_s.items():
        values = 30.0 * np.exp(-(((times - 0.12) / 0.03) ** 2)) + number
        values[times > 0.18] = np.nan
        widths = np.where(np.isnan(values), np.nan, 6.0)
        lines.append(CurveLine(throw=number, times_s=times + start_s, values=values, half_widths=widths))
    return Curve(key=item.key, words=item.words, unit=item.unit, sign=item.sign, lines=tuple(lines))
