"""The lens and the place of a camera from the clip of a board."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from elbowroom.adapters.boards.board import Array
from elbowroom.adapters.boards.detect import BoardSight
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Camera, Lens, LensEstimate
from elbowroom.core.quantities.types import Absent

MOST_PICTURES = 30
"""Most pictures that the lens is found from; more add time and little else."""

FEWEST_PICTURES = 6
"""Fewest pictures that fix a lens."""

LARGEST_FOCAL_SHARE = 0.02
"""Largest relative standard uncertainty of the focal length from a board clip; chosen by this project."""

LARGEST_RESIDUAL_PX = 1.5
"""Largest root mean square residual of a board clip; chosen by this project."""

SHARED_ERROR_FACTOR = 2.0
"""Factor on the standard uncertainties of the lens. Errors of corners in one picture (motion blur, a bent board,
rolling shutter, compression) go together, which the least squares does not know. Drawn clips with blur, noise and
compression alone need 1.0; the rest is a margin chosen by this project."""

WORST_PICTURE_RATIO = 2.5
"""A picture whose residual is larger than the median by this ratio is left out."""

Size = tuple[int, int]
"""Width and height of the picture, pixels."""


def estimate_lens(sights: Sequence[BoardSight], size: Size) -> LensEstimate | Absent:
    """Return the lens with its covariance from sights of a board in many places, or why they do not give
    it.

    Zhang's method as OpenCV's `calibrateCamera` has it, one focal length, k1, k2, p1, p2. The covariance is
    that of the least squares over lens and poses with the poses eliminated, widened by
    `SHARED_ERROR_FACTOR`.
    """
    chosen = choose_sights(sights, MOST_PICTURES)
    if len(chosen) < FEWEST_PICTURES:
        return Absent(
            reason=f"The board is sharp in {len(chosen)} places, and {FEWEST_PICTURES} are needed for the lens.",
            advice="Film the board for 20 s, near and far, tilted each way, into all corners of the picture.",
        )
    cameras = calibrate_sights(chosen, size)
    errors = [measure_residual_px(camera, sight) for camera, sight in zip(cameras, chosen, strict=True)]
    limit = WORST_PICTURE_RATIO * float(np.median(errors))
    kept = [sight for sight, error in zip(chosen, errors, strict=True) if error <= limit]
    cameras = calibrate_sights(kept, size)
    return judge_lens(build_lens_estimate(cameras, kept))


def choose_sights(sights: Sequence[BoardSight], most: int) -> list[BoardSight]:
    """Return up to `most` sights that differ most from one another, in the order of the clip.

    Each next one is the farthest from those chosen in place, size and tilt of the board, from the sharpest
    start.
    """
    if not sights:
        return []
    features = np.array([describe_sight(sight) for sight in sights])
    chosen = [int(np.argmin([sight.edge_px for sight in sights]))]
    nearest = np.linalg.norm(features - features[chosen[0]], axis=1)
    while len(chosen) < most and nearest.max() > LEAST_DIFFERENCE:
        chosen.append(int(np.argmax(nearest)))
        nearest = np.minimum(nearest, np.linalg.norm(features - features[chosen[-1]], axis=1))
    return [sights[index] for index in sorted(chosen)]


LEAST_DIFFERENCE = 0.03
"""Sights nearer to one another than this add nothing; one is a square's size or the board's own extent."""


def describe_sight(sight: BoardSight) -> Array:
    """Return place, size and tilt of the board in a picture (6,), in about equal units."""
    homography = fit_plane_map(sight)
    scale = 1.0 / (sight.square_px * 8)
    middle = sight.seen.pixels.mean(axis=0) * scale / 2
    turn = np.arctan2(homography[1, 0], homography[0, 0])
    tilt = homography[2, :2] * 2
    return np.array([*middle, np.log(sight.square_px), turn, *tilt])


def fit_plane_map(sight: BoardSight) -> Array:
    """Return the homography (3, 3) from the board's plane, about its middle, to pixels, ending in one."""
    plane = sight.seen.field_m[:, :2] - sight.seen.field_m[:, :2].mean(axis=0)
    homography, _ = cv2.findHomography(plane, sight.seen.pixels)
    return np.asarray(homography, float)


def calibrate_sights(sights: Sequence[BoardSight], size: Size) -> list[Camera]:
    """Return a camera for each sight, all with one lens, by OpenCV's calibration."""
    places = [sight.seen.field_m.astype(np.float32) for sight in sights]
    pixels = [sight.seen.pixels.astype(np.float32) for sight in sights]
    flags = cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_FIX_K3
    _, matrix, distortion, turns, shifts = cv2.calibrateCamera(
        places, pixels, size, np.eye(3), np.zeros(5), flags=flags
    )
    k1, k2, p1, p2 = (float(value) for value in np.ravel(distortion)[:4])
    lens = Lens(
        width_px=size[0],
        height_px=size[1],
        focal_px=float(matrix[0, 0]),
        centre_px=(float(matrix[0, 2]), float(matrix[1, 2])),
        distortion=(k1, k2, p1, p2),
    )
    return [build_camera(lens, np.ravel(turn), np.ravel(shift)) for turn, shift in zip(turns, shifts, strict=True)]


def build_camera(lens: Lens, turn: Array, shift: Array) -> Camera:
    """Return the camera for the frame of a board held at rotation vector and translation (3,)."""
    return Camera(
        name="board",
        lens=lens,
        rotation=np.asarray(cv2.Rodrigues(turn)[0], float),
        translation=np.asarray(shift, float),
        covariance=np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS)),
        residual_px=0.0,
    )


def measure_residual_px(camera: Camera, sight: BoardSight) -> float:
    """Return the root mean square distance between seen and predicted corners, pixels."""
    missing = project_points(camera, sight.seen.field_m) - sight.seen.pixels
    return float(np.sqrt((missing**2).sum(axis=1).mean()))


def build_lens_estimate(cameras: Sequence[Camera], sights: Sequence[BoardSight]) -> LensEstimate:
    """Return the common lens of the cameras with its covariance."""
    errors = [measure_residual_px(camera, sight) for camera, sight in zip(cameras, sights, strict=True)]
    counts = [len(sight.corners) for sight in sights]
    residual = float(np.sqrt(np.average(np.square(errors), weights=counts)))
    information = sum(
        (find_lens_information(camera, sight) for camera, sight in zip(cameras, sights, strict=True)),
        start=np.zeros((LENS_PARAMETERS, LENS_PARAMETERS)),
    )
    freedom = 2 * sum(counts) - 6 * len(sights) - LENS_PARAMETERS
    variance = residual**2 * sum(counts) / max(freedom, 1)
    covariance = SHARED_ERROR_FACTOR**2 * variance * np.linalg.inv(information)
    return LensEstimate(
        lens=cameras[0].lens,
        covariance=(covariance + covariance.T) / 2,
        residual_px=residual,
        pictures=len(sights),
    )


def find_lens_information(camera: Camera, sight: BoardSight) -> Array:
    """Return what one picture tells of the lens (7, 7), its own pose eliminated, for corners with variance
    one."""
    jacobian = project_with_jacobian(camera, sight.seen.field_m)[2].reshape(-1, CAMERA_PARAMETERS)
    normal = jacobian.T @ jacobian
    lens, pose = slice(0, LENS_PARAMETERS), slice(LENS_PARAMETERS, CAMERA_PARAMETERS)
    reduced: Array = normal[lens, lens] - normal[lens, pose] @ np.linalg.solve(normal[pose, pose], normal[pose, lens])
    return reduced


def judge_lens(lens: LensEstimate) -> LensEstimate | Absent:
    """Return the lens, or why it is not to be used."""
    advice = "Film the board for 20 s, near and far, tilted each way, into all corners of the picture."
    if lens.residual_px > LARGEST_RESIDUAL_PX:
        reason = f"The corners of the board miss their places by {lens.residual_px:.1f} px: it is bent or blurred."
        return Absent(reason=reason, advice="Glue the board to a stiff plate and move it slowly.")
    share = float(np.sqrt(lens.covariance[0, 0])) / lens.lens.focal_px
    if share > LARGEST_FOCAL_SHARE:
        reason = f"The board clip leaves the focal length open to {100 * share:.1f} %."
        return Absent(reason=reason, advice=advice)
    return lens
