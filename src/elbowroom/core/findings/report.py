"""What a screening report holds: one frozen tree, filled by the chain and written by the report adapter.

Athlete's own sides are kept (a left-hander's numbers read as for a right-hander, the pictures are as filmed).
Every number is an `Uncertain` in SI units and degrees, or an `Absent` with its reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.types import DecisionRule, Finding, Priority, PublishedBand
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.loads.types import BallKind, LoadBand, LoadChange, LoadDefinition, Sex
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.core.throws.types import ThrowingHand as ThrowingHand

Array = NDArray[np.float64]


NOT_STATED = Absent(reason="The visit file does not say it.")
"""Stands for what a visit file may leave out."""
NOT_ASKED = Absent(reason="Loads were not asked for.")
"""Stands for loads where the tables that they need were not given."""


@dataclass(frozen=True, kw_only=True)
class AthleteCard:
    """Who was screened, as the visit file gives it."""

    name: str
    """Name or code, exactly as given."""
    age_years: float
    """Age in years."""
    height_m: float
    """Standing height, metres."""
    hand: ThrowingHand
    """The hand that throws."""
    kind: ThrowKind
    """The kind of throw that was filmed."""
    sex: Sex | Absent = NOT_STATED
    """Which body table holds, or absent; loads need it."""
    mass_kg: float | Absent = NOT_STATED
    """Body mass, kilograms, or absent; loads need it."""
    ball: BallKind | Absent = NOT_STATED
    """What was thrown, or absent where the visit file does not say it."""

    @property
    def thrown(self) -> BallKind:
        """What was thrown: a baseball where nothing else is said."""
        return BallKind.BASEBALL if isinstance(self.ball, Absent) else self.ball


@dataclass(frozen=True, kw_only=True)
class ClipCard:
    """One clip and the camera that took it."""

    name: str
    """Name of the file without its folder."""
    view: View
    """Where the camera stood."""
    rate_hz: float
    """Capture rate, pictures a second."""
    picture_count: int
    """Number of pictures in the clip."""
    residual_px: Obtained
    """Root mean square residual of the camera's calibration in px, or why there is none."""
    digest: str
    """SHA-256 of the file, in hexadecimal."""
    notes: tuple[str, ...] = ()
    """Sentences on what was noticed in the clip: variable rate, dropped pictures, corrections."""


@dataclass(frozen=True, kw_only=True)
class SetUpCard:
    """How the cameras were found and what is known of scale and direction."""

    how: str
    """How the cameras were found, in words: board, ground marks, or both."""
    clips: tuple[ClipCard, ...]
    """The clips, one a camera."""
    scale_share: Obtained
    """Error of lengths in %, value 0 with its standard uncertainty, or why it is not known."""
    target_error: Obtained
    """Error of the direction to the target in deg, value 0 with its standard uncertainty, or why it is not
    known."""
    clock_error: Obtained
    """Error between the clips' clocks in s, value 0 with its standard uncertainty, or why it is not known."""


@dataclass(frozen=True, kw_only=True)
class ThrowCard:
    """One throw of the visit."""

    number: int
    """Number of the throw in the visit, from 1."""
    clips: tuple[str, ...]
    """Names of the clips that show it."""
    instants: Instants
    """Its instants."""
    notes: tuple[str, ...] = ()
    """Sentences on what was noticed in this throw."""


@dataclass(frozen=True, kw_only=True)
class CurveLine:
    """One throw's curve of a measure over time."""

    throw: int
    """Number of the throw."""
    times_s: Array
    """(n,) times on the visit clock, seconds, increasing."""
    values: Array
    """(n,) best estimate in the curve's unit; NaN where the curve is not defined (left blank in the
    report)."""
    half_widths: Array
    """(n,) half of the 95 % interval, in the curve's unit; NaN where the value is NaN."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A measure over time, one line a throw."""

    key: str
    """Name in files, lower case with underscores: `elbow_flexion`."""
    words: str
    """Name on paper: `elbow flexion`."""
    unit: str
    """Unit of the values."""
    sign: str
    """What plus and minus mean."""
    lines: tuple[CurveLine, ...]
    """One line a throw, in the order of the throws."""


@dataclass(frozen=True, kw_only=True)
class EncodedPicture:
    """A picture file in memory."""

    encoded: bytes
    """JPEG or PNG file content."""
    media_type: str
    """`image/jpeg` or `image/png`."""
    width_px: int
    """Width of the picture."""
    height_px: int
    """Height of the picture."""


@dataclass(frozen=True, kw_only=True)
class KeyPicture:
    """One picture of a throw at an instant, encoded, with the skeleton already drawn."""

    throw: int
    """Number of the throw."""
    instant: InstantName
    """The instant that the picture shows."""
    view: View
    """Where the camera stood."""
    encoded: bytes
    """JPEG or PNG file content."""
    media_type: str
    """`image/jpeg` or `image/png`."""
    width_px: int
    """Width of the picture."""
    height_px: int
    """Height of the picture."""
    caption: str
    """One sentence under the picture: what it shows."""
    description: str
    """One sentence for those who cannot see the picture."""


@dataclass(frozen=True, kw_only=True)
class Missing:
    """Something that could not be measured for the whole visit or a throw, besides the findings that say
    so."""

    what: str
    """What is missing: `timing`, `throw 3`, `second view`."""
    absent: Absent
    """Why, and what to change in filming."""


@dataclass(frozen=True, kw_only=True)
class MethodPart:
    """A part of the method in words."""

    title: str
    """Title of the part."""
    text: str
    """One or a few plain sentences."""


@dataclass(frozen=True, kw_only=True)
class MadeWith:
    """Something whose version the numbers depend on."""

    name: str
    """Name: the package, a table, the weights of the landmark model."""
    version: str
    """Its version or digest."""


@dataclass(frozen=True, kw_only=True)
class LoadFinding:
    """One load over the throws of the visit; never judged."""

    definition: LoadDefinition
    """What the load means."""
    typical: Obtained
    """The typical throw, in N m or N."""
    typical_share: Obtained
    """The same in % of body weight times height (moments) or of body weight (forces)."""
    throws: tuple[Obtained, ...]
    """Each throw's value, in the order of the throws."""
    bands: tuple[LoadBand, ...]
    """What laboratories found at about this age, each by its own method."""


@dataclass(frozen=True, kw_only=True)
class LoadsCard:
    """What the arm bore, over all throws."""

    findings: tuple[LoadFinding, ...]
    """The loads, in the order of their registry."""
    curves: tuple[Curve, ...]
    """The loads through each throw."""
    changes: tuple[LoadChange, ...]
    """What would change them: mean over the throws."""
    body: str
    """In a sentence: the body and the ball that were taken, and from which tables."""


@dataclass(frozen=True, kw_only=True)
class MotionTrack:
    """The joint centres of one throw over time, as they were reconstructed."""

    throw: int
    """Number of the throw."""
    times_s: Array
    """(n,) even times on the visit clock, seconds."""
    joints_m: Array
    """(n, 19, 3) joint centres in the order of `Joint`, metres, field frame, the athlete's own sides."""
    standards_m: Array
    """(n, 19) standard uncertainty of each joint centre, metres, root mean square over the three axes."""


@dataclass(frozen=True, kw_only=True)
class ScreeningReport:
    """A whole screening: everything that the report shows and the machine-readable file holds."""

    athlete: AthleteCard
    """Who was screened."""
    made_on: date
    """Day of the screening."""
    set_up: SetUpCard
    """Cameras, scale, direction and clips."""
    throws: tuple[ThrowCard, ...]
    """The throws that were found."""
    findings: tuple[Finding, ...]
    """Every measure's finding, in the order of the registry."""
    priorities: tuple[Priority, ...]
    """What to work on, most important first."""
    curves: tuple[Curve, ...]
    """Curves over time."""
    pictures: tuple[KeyPicture, ...]
    """Key pictures."""
    missing: tuple[Missing, ...]
    """What could not be measured, besides the findings that say so."""
    bands: tuple[PublishedBand, ...]
    """Published bands to show beside the values."""
    rule: DecisionRule
    """When a probability became a verdict."""
    method: tuple[MethodPart, ...]
    """The method in words."""
    made_with: tuple[MadeWith, ...]
    """Versions and digests that the numbers depend on."""
    loads: LoadsCard | Absent = NOT_ASKED
    """What the arm bore, or why that is not known."""
    motions: tuple[MotionTrack, ...] = ()
    """The joint centres of every throw over time."""
    cautions: tuple[str, ...] = ()
    """Cautions of this visit, besides the standing ones that every report carries."""
