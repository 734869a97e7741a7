"""The method of a screening in words, for the report."""

from __future__ import annotations

from elbowroom.core.findings.report import MethodPart
from elbowroom.core.landmarks.models import LandmarkTables

FILMING = (
    "Each clip is opened with the true time of every picture; repeated and dropped pictures are looked for, and "
    "where the timing cannot carry a measure, that measure is refused and the positions are still measured."
)
LANDMARKS = (
    "A light network follows everybody through about thirty pictures a second, the throws are found in the "
    "movement of the arm, and a large network then marks the body's landmarks in the pictures that matter. "
    "Exchanged left and right sides are put right. A landmark is not a joint centre: the usual distance between "
    "the two is taken off, and its uncertainty is kept."
)
CAMERAS = (
    "Lens and place of each camera come from the printed board or from marks of known size on the ground. The "
    "clocks of the clips are set against one another by sound and by movement, each with its uncertainty."
)
RECONSTRUCTION = (
    "All views of a throw are brought together in one robust least-squares fit: joints move on smooth curves, "
    "bones keep their lengths, feet stay on the ground. One view alone gives what it can carry."
)
MEASURES = (
    "Instants and measures are worked out from many draws of the motion, so that each number carries an "
    "uncertainty by source: landmarks, joint centres, cameras, clocks, scale, direction to the target, instant, "
    "and the scatter from throw to throw. A left-hander is mirrored first, so that signs read as for a right-"
    "hander."
)
LOADS = (
    "Loads come from the recursive equations of Newton and Euler along hand with ball, forearm and upper arm, with the "
    "exact derivatives of the fitted curves. Masses, centres and radii of gyration: de Leva 1996, below 18 years the "
    "masses of Jensen's children by age; the spread between body tables, the ball's mass and place, the moment of "
    "release and the smoothing enter the interval beside the sources of the motion. Varus is about the axis in the "
    "plane of upper arm and forearm at right angles to the forearm; internal rotation is about the upper arm. Below "
    "200 pictures a second loads are refused."
)
FINDINGS = (
    "A finding is the probability that the typical throw lies outside the limits (the rule of JCGM 106:2012). "
    "Order of work: how far outside, how sure, how much it matters. Limits that are common practice without a "
    "source, or chosen by this project, say so."
)
PROVISIONAL = "The table of landmark errors is provisional: no fit stands behind it, so take the intervals as rough."


def list_method_parts(tables: LandmarkTables) -> tuple[MethodPart, ...]:
    """Return the parts of the method in the order of the work; `tables` says how landmark errors are known."""
    errors = f"Errors of the landmark model ({tables.name}): {tables.how}"
    texts = {
        "Clips": FILMING,
        "Landmarks": LANDMARKS,
        "Errors of the landmarks": f"{PROVISIONAL} {errors}" if tables.is_provisional else errors,
        "Cameras and clocks": CAMERAS,
        "Reconstruction": RECONSTRUCTION,
        "Instants and measures": MEASURES,
        "Loads": LOADS,
        "Findings": FINDINGS,
    }
    return tuple(MethodPart(title=title, text=text) for title, text in texts.items())
