"""Where a camera shows points, and back.

Sides: OpenCV's projectPoints (values and derivatives), central finite differences, OpenCV's undistortPoints
and triangulatePoints, scipy's Rotation, round trip, closed form (a pinhole worked by hand).
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.rays import project_back, undistort_pixels
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Camera, Lens

Array = NDArray[np.float64]

PHONE = Lens(
    width_px=1280,
    height_px=720,
    focal_px=1010.0,
    centre_px=(642.0, 355.0),
    distortion=(-0.12, 0.05, 0.001, -0.002),
)


def make_camera(vector: Array, translation: Array, lens: Lens = PHONE) -> Camera:
    return Camera(
        name="phone",
        lens=lens,
        rotation=Rotation.from_rotvec(vector).as_matrix(),
        translation=np.asarray(translation, float),
        covariance=np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS)),
        residual_px=0.0,
    )


def make_matrix(lens: Lens) -> Array:
    return np.array([[lens.focal_px, 0, lens.centre_px[0]], [0, lens.focal_px, lens.centre_px[1]], [0, 0, 1.0]])


@pytest.fixture(name="camera")
def give_camera() -> Camera:
    return make_camera(np.array([0.3, -0.5, 0.2]), np.array([0.1, -0.2, 6.0]))


@pytest.fixture(name="points")
def give_points() -> Array:
    return np.random.default_rng(7).uniform(-1.2, 1.2, (200, 3))


def test_a_point_worked_by_hand() -> None:
    lens = replace(PHONE, focal_px=1000.0, centre_px=(640.0, 360.0), distortion=(0.1, 0.0, 0.0, 0.0))
    camera = make_camera(np.zeros(3), np.zeros(3), lens)
    # x/z = 0.5, y/z = 0, r2 = 0.25: 1000 * 0.5 * 1.025 + 640.
    assert project_points(camera, np.array([1.0, 0.0, 2.0])) == pytest.approx([1152.5, 360.0])


def test_pixels_and_derivatives_are_those_of_opencv(camera: Camera, points: Array) -> None:
    vector = Rotation.from_matrix(camera.rotation).as_rotvec()
    lens = camera.lens
    expected, jacobian = cv2.projectPoints(
        points, vector, camera.translation, make_matrix(lens), np.array(lens.distortion)
    )
    pixels, _, by_camera = project_with_jacobian(camera, points)
    theirs = jacobian.reshape(len(points), 2, -1)
    assert np.allclose(pixels, expected[:, 0], atol=1e-9)
    assert np.allclose(by_camera[:, :, 10:], theirs[:, :, 3:6], atol=1e-8)
    assert np.allclose(by_camera[:, :, 0], theirs[:, :, 6:8].sum(axis=2), atol=1e-10)
    assert np.allclose(by_camera[:, :, 1:3], theirs[:, :, 8:10], atol=1e-10)
    assert np.allclose(by_camera[:, :, 3:7], theirs[:, :, 10:14], atol=1e-8)


def shift_parameter(camera: Camera, number: int, step: float) -> Camera:
    lens_values = [camera.lens.focal_px, *camera.lens.centre_px, *camera.lens.distortion]
    pose = np.zeros(6)
    if number < 7:
        lens_values[number] += step
    else:
        pose[number - 7] = step
    focal, cx, cy, k1, k2, p1, p2 = lens_values
    return replace(
        camera,
        lens=replace(camera.lens, focal_px=focal, centre_px=(cx, cy), distortion=(k1, k2, p1, p2)),
        rotation=Rotation.from_rotvec(pose[:3]).as_matrix() @ camera.rotation,
        translation=camera.translation + pose[3:],
    )


@pytest.mark.parametrize("number", range(CAMERA_PARAMETERS))
def test_derivative_by_each_camera_parameter(camera: Camera, points: Array, number: int) -> None:
    step = 1e-5
    ahead, behind = (project_points(shift_parameter(camera, number, sign * step), points) for sign in (1, -1))
    by_camera = project_with_jacobian(camera, points)[2]
    assert np.allclose((ahead - behind) / (2 * step), by_camera[:, :, number], rtol=1e-5, atol=1e-4)


@pytest.mark.parametrize("axis", range(3))
def test_derivative_by_the_point(camera: Camera, points: Array, axis: int) -> None:
    shift = np.eye(3)[axis] * 1e-5
    slope = (project_points(camera, points + shift) - project_points(camera, points - shift)) / 2e-5
    assert np.allclose(slope, project_with_jacobian(camera, points)[1][:, :, axis], rtol=1e-6, atol=1e-4)


def test_points_behind_the_camera_have_no_pixels(camera: Camera) -> None:
    behind = camera.place + 3 * (camera.place - np.zeros(3))
    pixels, by_point, by_camera = project_with_jacobian(camera, np.array([behind, np.zeros(3)]))
    assert np.isnan(pixels[0]).all()
    assert np.isnan(by_point[0]).all()
    assert np.isfinite(pixels[1]).all()
    assert np.isfinite(by_camera[1]).all()


def test_undistortion_is_that_of_opencv() -> None:
    pixels = np.random.default_rng(3).uniform([0, 0], [1280, 720], (300, 2))
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 100, 1e-12)
    expected = cv2.undistortPoints(pixels, make_matrix(PHONE), np.array(PHONE.distortion), criteria=criteria)
    assert np.allclose(undistort_pixels(PHONE, pixels), expected[:, 0], atol=1e-9)


def test_pixels_beyond_the_fold_of_the_lens_are_refused() -> None:
    lens = replace(PHONE, distortion=(-0.3, 0.0, 0.0, 0.0))
    # r (1 - 0.3 r2) is largest at r = 1.054, where it is 0.703: no direction is shown farther out.
    pixels = np.array([[642.0 + 1010 * 0.69, 355.0], [642.0 + 1010 * 0.72, 355.0]])
    directions = undistort_pixels(lens, pixels)
    assert np.isfinite(directions[0]).all()
    assert np.isnan(directions[1]).all()


@settings(max_examples=60, deadline=None)
@given(
    turn=st.tuples(*[st.floats(-3, 3)] * 3),
    aim=st.tuples(st.floats(-0.3, 0.3), st.floats(-0.2, 0.2)),
    depth_m=st.floats(0.5, 40),
)
def test_a_ray_goes_back_to_its_point(turn: tuple[float, ...], aim: tuple[float, ...], depth_m: float) -> None:
    camera = make_camera(np.array(turn), np.array([0.4, -1.0, 3.0]))
    point = camera.rotation.T @ (np.array([aim[0], aim[1], 1.0]) * depth_m - camera.translation)
    direction = project_back(camera, project_points(camera, point[None]))[0]
    assert np.linalg.norm(np.cross(direction, point - camera.place)) < 1e-7 * depth_m
    assert direction @ (point - camera.place) > 0


def make_pair() -> tuple[Camera, Camera]:
    first = make_camera(np.array([0.05, -0.6, 0.0]), np.array([0.0, 0.3, 6.0]))
    return first, make_camera(np.array([-0.03, 0.7, 0.02]), np.array([0.2, 0.1, 7.0]))


def test_triangulation_agrees_with_opencv(points: Array) -> None:
    cameras = make_pair()
    pixels = np.array([project_points(camera, points) for camera in cameras])
    flat = [undistort_pixels(camera.lens, seen).T for camera, seen in zip(cameras, pixels, strict=True)]
    places = [np.column_stack([camera.rotation, camera.translation]) for camera in cameras]
    theirs = cv2.triangulatePoints(*places, *flat)
    found = triangulate_points(cameras, pixels, np.ones(pixels.shape[:2]))
    assert np.allclose(found, (theirs[:3] / theirs[3]).T, atol=1e-8)
    assert np.allclose(found, points, atol=1e-9)


def test_noisy_triangulation_is_at_the_least_squares_point(points: Array) -> None:
    cameras = make_pair()
    rng = np.random.default_rng(11)
    pixels = np.array([project_points(camera, points) for camera in cameras])
    pixels += rng.normal(scale=3.0, size=pixels.shape)
    weights = np.array([np.full(len(points), 1.0), np.full(len(points), 0.25)])
    found = triangulate_points(cameras, pixels, weights)
    gradient = np.zeros((len(points), 3))
    for camera, seen, weight in zip(cameras, pixels, weights, strict=True):
        predicted, by_point, _ = project_with_jacobian(camera, found)
        gradient += weight[:, None] * np.einsum("nij,ni->nj", by_point, predicted - seen)
    assert np.abs(gradient).max() < 1e-3


def test_missing_views_leave_the_others_and_too_few_give_nothing(points: Array) -> None:
    cameras = (*make_pair(), make_camera(np.array([0.0, 0.1, 0.0]), np.array([0.0, 0.0, 8.0])))
    pixels = np.array([project_points(camera, points) for camera in cameras])
    weights = np.ones(pixels.shape[:2])
    pixels[0, 0], weights[1, 1], weights[1:, 2] = np.nan, 0.0, 0.0
    pixels[1, 1] = 1e6
    found = triangulate_points(cameras, pixels, weights)
    assert np.allclose(found[[0, 1]], points[[0, 1]], atol=1e-8)
    assert np.isnan(found[2]).all()
    assert np.allclose(found[3:], points[3:], atol=1e-8)


def test_two_views_from_one_place_give_no_point(points: Array) -> None:
    first = make_pair()[0]
    pixels = np.array([project_points(first, points)] * 2)
    assert np.isnan(triangulate_points((first, first), pixels, np.ones(pixels.shape[:2]))).all()
