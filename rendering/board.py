"""The ChArUco board: its picture, its poses in the hand and at rest, and the frames it defines.

OpenCV's board frame: origin at the outer corner of the first square, x along the 8 squares, y along the 6,
z = x cross y, which points INTO the board, away from whoever looks at its printed side. Lying printed side
up with x to the target, its y therefore points to the field's -y and its z to the field's -z.
"""

import cv2
import numpy as np
from scipy.spatial.transform import Rotation

from rendering.cameras import Phone, project_points
from rendering.rotations import Array, make_unit
from rendering.scene import FlatPicture

SQUARES = (8, 6)
SQUARE_M = 0.10
MARKER_M = 0.075
SIZE_M = (SQUARES[0] * SQUARE_M, SQUARES[1] * SQUARE_M)
DICTIONARY = "DICT_5X5_100"
PIXELS_A_SQUARE = 120


def build_board() -> cv2.aruco.CharucoBoard:
    """The board as OpenCV knows it."""
    words = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    return cv2.aruco.CharucoBoard(SQUARES, SQUARE_M, MARKER_M, words)


def render_board(pose: Array) -> FlatPicture:
    """The board's print at a pose (4, 4) in the field frame, whites and blacks as paper shows them."""
    size = (SQUARES[0] * PIXELS_A_SQUARE, SQUARES[1] * PIXELS_A_SQUARE)
    image = build_board().generateImage(size).astype(np.float32)
    return FlatPicture(image=28 + image * (205 / 255), pose=pose, size_m=SIZE_M)


def lay_board(corner: tuple[float, float], yaw_deg: float = 0.0, tilt_deg: float = 0.0) -> Array:
    """Pose (4, 4) of the board on the ground, printed side up, x to the target, turned by yaw and tilted about x."""
    flat = np.diag([1.0, -1.0, -1.0])
    turn = Rotation.from_euler("zx", [yaw_deg, tilt_deg], degrees=True).as_matrix()
    pose = np.eye(4)
    pose[:3, :3] = turn @ flat
    pose[:3, 3] = (*corner, 0.004)
    return pose


def stand_board(middle: tuple[float, float], face_deg: float, lean_deg: float) -> Array:
    """Pose (4, 4) of the board on its long edge, printed side towards a bearing, leaning back by an angle."""
    bearing = np.radians(face_deg)
    outward = np.array([np.cos(bearing), np.sin(bearing), 0.0])
    lean = np.radians(lean_deg)
    normal = np.cos(lean) * outward + np.sin(lean) * np.array([0.0, 0.0, 1.0])
    z = -normal
    x = make_unit(np.cross(np.array([0.0, 0.0, -1.0]), z))
    y = np.cross(z, x)
    pose = np.eye(4)
    pose[:3, :3] = np.stack([x, y, z], axis=-1)
    pose[:3, 3] = np.array([*middle, 0.0]) - x * SIZE_M[0] / 2 - y * SIZE_M[1]
    return pose


def hold_board(rng: np.random.Generator, phone: Phone, spot: tuple[float, float], reach_m: float) -> Array:
    """Pose (4, 4) of a board held before a phone: its middle at a spot of the picture (shares -1 to 1), tilted."""
    tilt = rng.uniform(-32, 32, 2)
    local = Rotation.from_euler("yxz", [tilt[0], tilt[1], rng.uniform(-14, 14)], degrees=True).as_matrix()
    half = np.array([phone.width, phone.height]) / 2 / np.diag(phone.matrix)[:2]
    middle = np.array([spot[0] * half[0] * reach_m, spot[1] * half[1] * reach_m, reach_m])
    corner = middle - local @ np.array([SIZE_M[0] / 2, SIZE_M[1] / 2, 0.0])
    pose = np.eye(4)
    pose[:3, :3] = phone.rotation.T @ local
    pose[:3, 3] = phone.rotation.T @ (corner - phone.translation)
    return pose


def list_held_poses(rng: np.random.Generator, phone: Phone, count: int) -> list[Array]:
    """Poses before a phone that fill the picture's corners and middle at 1.2 to 2.2 m, all of the board in view."""
    poses: list[Array] = []
    corners = np.array([[0, 0, 0], [SIZE_M[0], 0, 0], [0, SIZE_M[1], 0], [*SIZE_M, 0]], float)
    grid = [(x, y) for y in (-0.55, 0.0, 0.55) for x in (-0.65, 0.0, 0.65)]
    while len(poses) < count:
        x, y = grid[len(poses) % len(grid)]
        spot = (x + rng.uniform(-0.15, 0.15), y + rng.uniform(-0.15, 0.15))
        pose = hold_board(rng, phone, spot, float(rng.uniform(1.2, 2.2)))
        seen = project_points(phone, corners @ pose[:3, :3].T + pose[:3, 3])
        if np.all(seen > 6) and np.all(seen < np.array([phone.width, phone.height]) - 6):
            poses.append(pose)
    return poses
