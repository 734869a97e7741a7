"""Draws of a motion from its covariance, one source of uncertainty at a time, and the mirror for left-handers."""

from __future__ import annotations

import numpy as np
from scipy.linalg import lapack

from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.landmarks.names import JOINTS, OTHER_SIDE, Joint
from elbowroom.core.quantities.types import Source
from elbowroom.core.reconstruction.types import Array, Curves, Motion

MIRROR = np.array([1.0, -1.0, 1.0])
"""Reflection that turns a left-hander into a right-hander: y to the other side."""
MODE_WORDS = {
    Source.LANDMARKS: "bones",
    Source.JOINT_OFFSET: "offset",
    Source.OUT_OF_PLANE: "plane",
    Source.CAMERAS: "cameras",
    Source.CLOCKS: "clocks",
}
"""First word of the shared modes that belong to each source."""


def draw_curves(motion: Motion, source: Source, count: int, generator: np.random.Generator) -> Curves:
    """Return the best curves followed by `count` draws that vary by one source only."""
    draws = np.zeros((count, *motion.coefficients_m.shape))
    if source is Source.LANDMARKS:
        draws = draw_noise(motion, count, generator)
    word = MODE_WORDS.get(source)
    chosen = [index for index, name in enumerate(motion.shared_names) if word and name.startswith(word)]
    if chosen:
        sizes = generator.standard_normal((count, len(chosen)))
        draws = draws + np.tensordot(sizes, motion.shared_modes_m[chosen], axes=1)
    best = motion.coefficients_m[None]
    return Curves(knots_s=motion.knots_s, coefficients_m=np.concatenate([best, best + draws]))


def draw_noise(motion: Motion, count: int, generator: np.random.Generator) -> Array:
    """Return draws (count, m, 19, 3) of the landmark noise: L^-T z with the banded factor L."""
    white = generator.standard_normal((motion.factor.shape[1], count))
    solved, problem = lapack.dtbtrs(motion.factor, white, uplo="L", trans="T")
    if problem:
        raise np.linalg.LinAlgError("The factor of the motion is singular.")
    draws: Array = solved.T.reshape(count, *motion.coefficients_m.shape)
    return draws


def scale_curves(motion: Motion, standard: float, count: int, generator: np.random.Generator) -> Curves:
    """Return the best curves and draws with all lengths scaled by 1 + standard x normal."""
    factors = np.concatenate([[1.0], 1.0 + standard * generator.standard_normal(count)])
    return Curves(knots_s=motion.knots_s, coefficients_m=factors[:, None, None, None] * motion.coefficients_m[None])


def turn_curves(motion: Motion, standards_rad: Array, count: int, generator: np.random.Generator) -> Curves:
    """Return the best curves and draws turned by small random angles about x, y and z; `standards_rad` (3,)."""
    vectors = np.vstack([np.zeros(3), standards_rad * generator.standard_normal((count, 3))])
    points = np.broadcast_to(motion.coefficients_m, (count + 1, *motion.coefficients_m.shape))
    turned = points + np.cross(vectors[:, None, None, :], points)
    return Curves(knots_s=motion.knots_s, coefficients_m=turned)


def mirror_curves(curves: Curves) -> Curves:
    """Return the curves of a left-hander as a right-hander's: y reversed and sides exchanged."""
    order = [OTHER_SIDE[Joint(joint)] for joint in range(JOINTS)]
    return Curves(knots_s=curves.knots_s, coefficients_m=curves.coefficients_m[:, :, order] * MIRROR)


def locate_joints(motion: Motion, times_s: Array, derivative: int = 0) -> Array:
    """Return the best positions (n, 19, 3) in the field frame at the times (n,), or their time derivative."""
    positions: Array = evaluate_curves(motion.knots_s, motion.coefficients_m[None], times_s, derivative)[0]
    return positions
