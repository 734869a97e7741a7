"""Views of rendered truth with landmark noise of a stated size, at any picture rate, for the reconstruction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchmarks.truth import VisitTruth, build_true_camera, build_true_curves, find_true_instants
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.types import Camera
from elbowroom.core.chain.tracking import view_throw
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.landmarks.types import JointTrack
from elbowroom.core.reconstruction.types import ViewedThrow
from elbowroom.core.throws.choose import AFTER_RELEASE_S, BEFORE_CONTACT_S

Array = NDArray[np.float64]

NOISE_PX = {Joint.RIGHT_ELBOW: 2.5, Joint.RIGHT_WRIST: 3.0, Joint.RIGHT_HAND: 3.5}
"""Standard deviation of the noise in a picture of 1,280 by 720 pixels; that of all other joints is `OTHER_PX`."""
OTHER_PX = 2.0
BEFORE_S, AFTER_S = 0.7, 0.4
"""Pictures from this long before foot contact to this long after release."""


def simulate_views(
    truth: VisitTruth, number: int, rate_hz: float, generator: np.random.Generator
) -> tuple[tuple[ViewedThrow, ...], tuple[float, float, float, float]]:
    """Simulate what the first two phones see of a right-hander's throw, and return it with the window of the throw."""
    instants = find_true_instants(truth, number)
    contact_s, release_s = instants[InstantName.FOOT_CONTACT], instants[InstantName.RELEASE]
    curves = build_true_curves(truth, number)
    start_s = max(contact_s - BEFORE_S, float(curves.knots_s[0]))
    end_s = min(release_s + AFTER_S, float(curves.knots_s[-1]))
    views = []
    for phone in truth.phones[:2]:
        times_s = np.arange(start_s + generator.uniform(0.0, 1.0 / rate_hz), end_s, 1.0 / rate_hz)
        points = evaluate_curves(curves.knots_s, curves.coefficients_m, times_s)[0]
        views.append(see_points(build_true_camera(phone), times_s, points, generator))
    window = (start_s, contact_s - BEFORE_CONTACT_S, release_s + AFTER_RELEASE_S, end_s)
    return tuple(views), window


def see_points(camera: Camera, times_s: Array, points: Array, generator: np.random.Generator) -> ViewedThrow:
    """See joints (n, 19, 3) with noise; the depth that a landmark model guesses is left all but open."""
    count = len(times_s)
    pixels = project_with_jacobian(camera, points.reshape(-1, 3))[0].reshape(count, JOINTS, 2)
    standards = np.array([NOISE_PX.get(joint, OTHER_PX) for joint in Joint])
    pixels = pixels + standards[:, None] * generator.standard_normal(pixels.shape)
    square = np.broadcast_to(standards[:, None, None] ** 2 * np.eye(2), (count, JOINTS, 2, 2))
    track = JointTrack(
        camera=camera.name,
        pictures=np.arange(count),
        times_s=times_s,
        pixels=pixels,
        noise_px2=square,
        offset_px2=np.broadcast_to(1e-6 * np.eye(2), (count, JOINTS, 2, 2)),
        noise_time_s=1e-4,
        seen=np.ones((count, JOINTS), dtype=bool),
        depth_m=np.zeros((count, JOINTS)),
        depth_standard_m=10.0,
        corrections=(),
        model="simulated",
    )
    return view_throw(camera, track, 0.0, 0.0)
