"""The loads by name: moments and forces along named axes, through the throw and at their instants."""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.core.loads.types import LoadDefinition


@dataclass(frozen=True, kw_only=True)
class LoadCurve:
    """One load through the throw."""

    key: str
    """Key in files: `elbow_varus_moment`."""
    words: str
    """Name on paper."""
    unit: str
    """N m or N."""
    definition: str
    """What acts on what, about or along which axis."""
    sign: str
    """What plus and minus mean."""
    is_after_release: bool
    """Whether its largest value may come shortly after release."""


VARUS = LoadCurve(
    key="elbow_varus_moment",
    words="elbow varus moment",
    unit="N m",
    definition="Moment of the upper arm on the forearm about the axis that lies in the plane of the two and at right "
    "angles to the forearm; not given where the elbow is bent less than 20°, as the plane is then lost.",
    sign="+ varus: holds the forearm against being bent outwards.",
    is_after_release=False,
)
ROTATION = LoadCurve(
    key="shoulder_internal_rotation_moment",
    words="shoulder internal rotation moment",
    unit="N m",
    definition="Moment of the trunk on the upper arm about the upper arm's long axis.",
    sign="+ turns inwards: holds the arm against laying back further.",
    is_after_release=False,
)
SHOULDER = LoadCurve(
    key="shoulder_proximal_force",
    words="shoulder proximal force",
    unit="N",
    definition="Force of the trunk on the upper arm along the upper arm: what keeps the shoulder from being pulled "
    "apart.",
    sign="+ towards the shoulder.",
    is_after_release=True,
)
ELBOW = LoadCurve(
    key="elbow_proximal_force",
    words="elbow proximal force",
    unit="N",
    definition="Force of the upper arm on the forearm along the forearm: what keeps the elbow from being pulled apart.",
    sign="+ towards the elbow.",
    is_after_release=True,
)
LOAD_CURVES = (VARUS, ROTATION, SHOULDER, ELBOW)
"""What is worked out at every time, in the order of the report."""


def build_largest(curve: LoadCurve) -> LoadDefinition:
    """Return the definition of the largest value of a load."""
    until = "shortly after release" if curve.is_after_release else "release"
    return LoadDefinition(
        key=f"largest_{curve.key}",
        words=f"largest {curve.words}",
        unit=curve.unit,
        definition=f"{curve.definition} The largest value from foot contact to {until}.",
        sign=curve.sign,
    )


def build_at_layback(curve: LoadCurve) -> LoadDefinition:
    """Return the definition of a load at layback."""
    return LoadDefinition(
        key=f"{curve.key}_at_layback",
        words=f"{curve.words} at layback",
        unit=curve.unit,
        definition=curve.definition,
        sign=curve.sign,
    )


LARGEST = {curve.key: build_largest(curve) for curve in LOAD_CURVES}
AT_LAYBACK = {curve.key: build_at_layback(curve) for curve in LOAD_CURVES}
LOADS = tuple(item for curve in LOAD_CURVES for item in (LARGEST[curve.key], AT_LAYBACK[curve.key]))
"""Every load that is given for a throw, in the order of the report."""
