"""Loads: the body and the ball as tables know them, what a load is called, and what a throw gave."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.types import Absent, Obtained, Source
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Times = Mapping[InstantName, Array]
Drawn = tuple[Curves, Times]
"""Draws of one throw with each draw's own instants."""


class Sex(StrEnum):
    """Which of the body tables holds."""

    FEMALE = "female"
    MALE = "male"


class BallKind(StrEnum):
    """What is thrown."""

    BASEBALL = "baseball"
    SOFTBALL_12 = "softball 12 in"
    SOFTBALL_11 = "softball 11 in"


class Segment(StrEnum):
    """The segments of the throwing arm, as the tables name them."""

    UPPER_ARM = "upper arm"
    FOREARM = "forearm"
    HAND = "hand"


class TableName(StrEnum):
    """The body tables."""

    DE_LEVA = "de Leva 1996"
    DEMPSTER = "Dempster (Winter)"
    CLAUSER = "Clauser 1969"
    JENSEN = "Jensen"


@dataclass(frozen=True, kw_only=True)
class SegmentRow:
    """One segment in one body table; a number that the table lacks is absent."""

    table: TableName
    """The table."""
    sex: Sex | Absent
    """The sex that the row holds for, or absent where the table does not tell them apart."""
    age_years: float | Absent
    """The age that the row holds for, or absent for an adult."""
    segment: str
    """Name of the segment."""
    mass_share: float | Absent
    """Mass over body mass."""
    centre_share: float | Absent
    """Distance of the centre of mass from the proximal end, over the segment's length."""
    sagittal_share: float | Absent
    """Radius of gyration about the sagittal axis through the centre of mass, over the segment's length."""
    transverse_share: float | Absent
    """Radius of gyration about the transverse axis, over the segment's length."""
    long_share: float | Absent
    """Radius of gyration about the long axis, over the segment's length."""
    source: str
    """Where the numbers come from and how they are known."""


@dataclass(frozen=True, kw_only=True)
class BallRow:
    """One ball as the rules describe it."""

    kind: BallKind
    """The ball."""
    masses_kg: tuple[float, float]
    """Lightest and heaviest that the rules allow."""
    diameters_m: tuple[float, float]
    """Smallest and largest that the rules allow."""
    source: str
    """Where the numbers come from and how they are known."""


@dataclass(frozen=True, kw_only=True)
class LoadBand:
    """What one laboratory found in a group by its own method: shown beside a load, never a limit."""

    load: str
    """Key of the load."""
    group: str
    """The group in words."""
    ages_years: tuple[float, float]
    """Youngest and oldest age that the band is shown for, in completed years, inclusive."""
    mean: float
    """Mean of the group, in `unit`."""
    sd: float | Absent
    """Standard deviation of the group, in `unit`, or why it is not given."""
    unit: str
    """N m, N, % BW H or % BW."""
    source: str
    """Where the numbers come from."""
    method: str
    """How that laboratory measured: the numbers of two methods cannot be mixed."""
    is_seen: bool
    """False where the numbers are from memory or second hand, which is then said beside them."""


@dataclass(frozen=True, kw_only=True)
class LoadTables:
    """Everything that the loads look up."""

    segments: tuple[SegmentRow, ...]
    """Rows of the body tables."""
    balls: tuple[BallRow, ...]
    """Rows of the table of balls."""
    bands: tuple[LoadBand, ...]
    """Published means and spreads."""


@dataclass(frozen=True, kw_only=True)
class SegmentNumbers:
    """What tables say of one segment for each of s draws, before its length is known; (s, 1) or (1, 1) arrays."""

    mass_kg: Array
    """Mass of the segment."""
    centre_share: Array
    """Distance of the centre of mass from the proximal end, over the segment's length."""
    sagittal_share: Array
    """Radius of gyration about the sagittal axis, over the segment's length."""
    transverse_share: Array
    """Radius of gyration about the transverse axis, over the segment's length."""
    long_share: Array
    """Radius of gyration about the long axis, over the segment's length."""


@dataclass(frozen=True, kw_only=True)
class SegmentBody:
    """One segment of the arm for each of s draws; (s, 1) arrays, or (1, 1) where all draws share them."""

    mass_kg: Array
    """Mass of the segment."""
    centre_share: Array
    """Distance of the centre of mass from the proximal end, over the segment's length."""
    sagittal_m: Array
    """Radius of gyration about the axis across the segment in the plane of the arm."""
    transverse_m: Array
    """Radius of gyration about the elbow's hinge direction."""
    long_m: Array
    """Radius of gyration about the long axis."""


@dataclass(frozen=True, kw_only=True)
class HeldBall:
    """The ball for each of s draws; (s, 1) or (1, 1) arrays."""

    mass_kg: Array
    """Mass; 0 for an empty hand."""
    radius_m: Array
    """Radius of the ball."""
    reach_share: Array
    """Distance of its centre from the wrist, over the distance from the wrist to the knuckles."""


@dataclass(frozen=True, kw_only=True)
class ArmNumbers:
    """What tables say of the throwing arm with the ball, before its lengths are known."""

    upper_arm: SegmentNumbers
    """Upper arm."""
    forearm: SegmentNumbers
    """The forearm."""
    hand: SegmentNumbers
    """The hand."""
    ball: HeldBall
    """The ball."""


@dataclass(frozen=True, kw_only=True)
class ArmBody:
    """The throwing arm with the ball."""

    upper_arm: SegmentBody
    """Upper arm, shoulder to elbow."""
    forearm: SegmentBody
    """Forearm, elbow to wrist."""
    hand: SegmentBody
    """Hand, wrist to the middle of the knuckles."""
    ball: HeldBall
    """The ball."""


@dataclass(frozen=True, kw_only=True)
class Thrower:
    """What the loads need to know of the athlete."""

    age_years: float
    """Age in years."""
    height_m: float
    """Standing height."""
    mass_kg: float
    """Body mass."""
    sex: Sex
    """Which body table holds."""
    ball: BallKind
    """What is thrown."""


@dataclass(frozen=True, kw_only=True)
class LoadDefinition:
    """What a load means."""

    key: str
    """Key in files: `largest_elbow_varus_moment`."""
    words: str
    """Name on screens and paper."""
    unit: str
    """N m or N."""
    definition: str
    """What acts on what, about or along which axis."""
    sign: str
    """What plus and minus mean."""


@dataclass(frozen=True, kw_only=True)
class LoadLine:
    """One load through one throw."""

    times_s: Array
    """(n,) times on the visit clock."""
    values: Array
    """(n,) best estimate in the unit of the load; not-a-number where it is not defined."""
    half_widths: Array
    """(n,) half of the 95 % interval."""


@dataclass(frozen=True, kw_only=True)
class MoveDefinition:
    """One way to move a motion along a measure."""

    key: str
    """Key in files: `elbow_to_shoulder_line`."""
    words: str
    """Words for the move, to follow "with": `the elbow 10° higher against the shoulder line`."""
    step_deg: float
    """How far the measure is moved."""
    held: str
    """What was held and when the move acts, a sentence."""


@dataclass(frozen=True, kw_only=True)
class LoadChange:
    """What the model answers when a motion is moved along one measure."""

    move: MoveDefinition
    """The move."""
    changes: dict[str, Obtained]
    """Change of each load by its key, or why there is none."""


@dataclass(frozen=True, kw_only=True)
class ThrowLoads:
    """The loads of one throw."""

    values: dict[str, Obtained]
    """Each load by its key, in N m or N."""
    lines: dict[str, LoadLine]
    """Each load through the throw, by the key of its curve."""
    changes: tuple[LoadChange, ...]
    """What would change it."""


@dataclass(frozen=True, kw_only=True)
class LoadDraws:
    """What the loads of one throw are worked out from."""

    by_source: Mapping[Source, Drawn]
    """For each source of the motion's uncertainty, draws that vary by it alone; draw 0 is the best estimate."""
    thrower: Thrower
    """Who throws."""
    tables: LoadTables
    """What the loads look up."""
