"""How far landmarks lie from the true joints before and after the standing offset is taken off, on unseen bodies.

Needs the extra `render` (torch) and sample files of `python -m rendering.landmark_samples`:

    python -m benchmarks.landmark_offsets samples.npz --size large

Every body is judged by networks trained on the other bodies only (4 folds). Lengths are millimetres of the model's
own body, angles are in the picture.
"""

import argparse
from pathlib import Path

import numpy as np

from elbowroom.core.landmarks.layout import estimate_scale
from elbowroom.core.landmarks.models import KINDS, find_kind
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.landmarks.noise import build_noise_features, find_limb_axes
from elbowroom.core.landmarks.offsets import average_landmarks
from rendering.fit_landmarks import Samples, cross_fit, fit_noise, measure_true_speed, read_samples
from rendering.rotations import Array

INSIDE_95 = 5.991
"""0.95 quantile of chi-squared with two degrees of freedom."""
INSIDE_50 = 1.386
"""0.50 quantile of chi-squared with two degrees of freedom."""


def scale_residuals(samples: Samples, residuals: Array) -> Array:
    """Squared Mahalanobis length (n, 19) of residuals under the noise fitted to them."""
    noise = fit_noise(samples, residuals)
    features = build_noise_features(samples.raw, measure_true_speed(samples))
    axes = find_limb_axes(samples.joints)
    across = np.stack([-axes[..., 1], axes[..., 0]], axis=-1)
    parts = np.stack([(residuals * axes).sum(axis=-1), (residuals * across).sum(axis=-1)], axis=-1)
    log_variance = np.stack([features[:, j] @ noise.coefficients[find_kind(j)].T for j in Joint], axis=1)
    return np.asarray((parts**2 / np.exp(log_variance)).sum(axis=-1))


def measure_flexion(places: Array, side: str) -> Array:
    """Elbow flexion (n,) in the picture, degrees, 0 straight."""
    shoulder, elbow, wrist = (places[:, Joint[f"{side}_{part}"]] for part in ("SHOULDER", "ELBOW", "WRIST"))
    upper, lower = elbow - shoulder, wrist - elbow
    cross = upper[:, 0] * lower[:, 1] - upper[:, 1] * lower[:, 0]
    return np.asarray(np.degrees(np.arctan2(np.abs(cross), (upper * lower).sum(axis=1))))


def print_flexion(samples: Samples, residuals: Array) -> None:
    """Print the error of bent elbows in the picture (60 to 120 deg), before and after."""
    scale = estimate_scale(samples.raw)[:, None, None]
    errors = []
    for side in ("LEFT", "RIGHT"):
        true = measure_flexion(samples.joints, side)
        ways = [average_landmarks(samples.raw), samples.joints + residuals * scale]
        bent = (true > 60) & (true < 120)
        errors.append(np.stack([(measure_flexion(way, side) - true)[bent] for way in ways]))
    before, after = np.concatenate(errors, axis=1)
    for name, error in (("before", before), ("after", after)):
        print(
            f"elbow flexion 60 to 120 deg {name:6s}: median {np.median(error):+5.1f} deg, "
            f"median size {np.median(np.abs(error)):4.1f} deg ({len(error)} arms)"
        )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("samples", type=Path, nargs="+")
    parser.add_argument("--size", choices=("light", "large"), default="large")
    arguments = parser.parse_args()
    samples = read_samples(arguments.samples, arguments.size)
    residuals = cross_fit(samples)
    raw = (average_landmarks(samples.raw) - samples.joints) / estimate_scale(samples.raw)[:, None, None]
    lengths = scale_residuals(samples, residuals)
    print(f"{len(samples.body)} pictures, {len(set(samples.body))} bodies, {len(set(samples.throw))} throws")
    print("joint     median before  after   bias before  after   inside 50 %   95 %")
    for kind, name in enumerate(KINDS):
        joints = [joint for joint in Joint if find_kind(joint) == kind]
        sizes = [1000 * np.median(np.linalg.norm(way[:, joints], axis=-1)) for way in (raw, residuals)]
        bias = [1000 * np.linalg.norm(np.median(way[:, joints], axis=0), axis=-1).max() for way in (raw, residuals)]
        inside = [(lengths[:, joints] < limit).mean() for limit in (INSIDE_50, INSIDE_95)]
        print(
            f"{name:9s} {sizes[0]:10.0f} mm {sizes[1]:4.0f} mm {bias[0]:8.0f} mm {bias[1]:4.0f} mm "
            f"{100 * inside[0]:10.0f} % {100 * inside[1]:4.0f} %"
        )
    print_flexion(samples, residuals)


if __name__ == "__main__":
    main()
