"""One camera in another field frame, and several cameras put together as the set-up of a visit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Array, Camera, FieldSetUp


def shift_field(camera: Camera, origin: Array, turn: Array) -> Camera:
    """Return the camera for the field frame in which a point p is at `turn` @ (p - `origin`).

    `origin` (3,) metres and `turn` (3, 3) in the present frame, both taken as exact; the covariance goes
    along.
    """
    turned_origin = camera.rotation @ origin
    change = np.eye(CAMERA_PARAMETERS)
    change[LENS_PARAMETERS + 3 :, LENS_PARAMETERS : LENS_PARAMETERS + 3] = -build_cross(turned_origin)
    return replace(
        camera,
        rotation=camera.rotation @ turn.T,
        translation=camera.translation + turned_origin,
        covariance=change @ camera.covariance @ change.T,
        shared=change @ camera.shared,
    )


def shift_set_up(set_up: FieldSetUp, origin: Array) -> FieldSetUp:
    """Return the set-up with its field frame moved, not turned, so that `origin` (3,) metres becomes zero."""
    cameras = tuple(shift_field(camera, origin, np.eye(3)) for camera in set_up.cameras)
    return replace(set_up, cameras=cameras, ground_height_m=set_up.ground_height_m - float(origin[2]))


def build_cross(vector: Array) -> Array:
    """Return the matrix (3, 3) that takes the cross product of `vector` (3,) with what it is multiplied
    by."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
