"""Fits the tables of the landmark models' errors to samples with truth, and checks them on bodies not fitted to.

Offsets: one small network for each kind of joint, trained on the RIGHT joints of the pictures and of their mirrored
copies. Noise: log-linear variance along and across the limb, from residuals of bodies that the network had not seen.
The standing share comes from the residuals of one throw at different time gaps.
"""

import argparse
import json
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from elbowroom.core.landmarks.layout import (
    ARMS,
    FACE,
    LEGS,
    OTHER,
    estimate_scale,
    mirror_landmarks,
    reorder_landmarks,
    select_pictures,
)
from elbowroom.core.landmarks.models import KINDS, NoiseModel, OffsetModel, find_kind
from elbowroom.core.landmarks.names import OTHER_SIDE, Joint
from elbowroom.core.landmarks.noise import build_noise_features, find_limb_axes
from elbowroom.core.landmarks.offsets import (
    FEATURES,
    average_landmarks,
    build_features,
    find_right_joint,
    predict_offsets,
)
from elbowroom.core.landmarks.types import RawLandmarks
from rendering.rotations import Array

VERSION = 3
FOLDS = 4
HIDDEN = 40
STEPS = 900
LARGEST_M = 0.25
"""Residuals beyond this are lost points, left out of the fit of offsets."""
GAPS_S = np.array([0.002, 0.006, 0.012, 0.02, 0.03, 0.045, 0.06, 0.08, 0.105, 0.15])
"""Edges of the time gaps at which residuals of one throw are held against each other."""
NOISE_TIME_S = 0.02
"""Correlation time of what is not standing, between that of the picture noise (below 4 ms) and of the part that is
bound to the pose (35 to 85 ms); of 4, 12, 20 and 40 ms the demo visit's turning rates fitted their intervals best."""
TAILS = 1.3
"""Variances are widened by this: on bodies not fitted to, 95 % regions held 88 to 92 % (heavy tails), and this factor
makes a region that holds 90 % hold 95 % under the normal law (chi-squared with two degrees: 5.99 over 4.61)."""
SLOW_GAP_S = 0.1
"""What is still alike over longer gaps than this stays through the throw."""
CUT = 3.5
"""Residuals beyond this many standard deviations are held there in the fit of the noise."""


@dataclass(frozen=True, kw_only=True)
class Samples:
    """Landmarks with truth."""

    raw: RawLandmarks
    """Landmarks, sides put right by the truth."""
    joints: Array
    """(n, 19, 2) true joints in pixels."""
    depths: Array
    """(n, 19) true depths from mid-hip, metres."""
    body: Array
    """(n,) number of the body."""
    throw: Array
    """(n,) number of the throw."""
    view: Array
    """(n,) number of the view."""
    time_s: Array
    """(n,) time in the throw."""
    exchanged: Array
    """(n, 2) whether arms and legs came with the sides exchanged."""


def read_samples(paths: list[Path], size: str) -> Samples:
    """Read sample files of one landmark model and put the sides right by the truth."""
    files = [np.load(path) for path in paths]
    data = {name: np.concatenate([f[name] for f in files]).astype(float) for name in files[0].files}
    raw = RawLandmarks(**{k.removeprefix(f"{size}_"): v for k, v in data.items() if k.startswith(f"{size}_")})
    fixed, exchanged = fix_sides(raw, data["joints"])
    return Samples(
        raw=fixed,
        joints=data["joints"],
        depths=data["depths"],
        body=data["body"].astype(int),
        throw=data["throw"].astype(int),
        view=data["view"].astype(int),
        time_s=data["time_s"],
        exchanged=exchanged,
    )


def fix_sides(raw: RawLandmarks, joints: Array) -> tuple[RawLandmarks, Array]:
    """Exchange arms or legs where that brings them nearer to the truth; also which were exchanged, (n, 2)."""
    places = average_landmarks(raw)
    swapped = places[:, [OTHER_SIDE[joint] for joint in Joint]]
    order = np.tile(np.arange(len(OTHER)), (len(joints), 1))
    flags = []
    parts = (("SHOULDER", "ELBOW", "WRIST"), ("HIP", "KNEE", "ANKLE"))
    for names, marks in zip(parts, (np.concatenate([FACE, ARMS]), LEGS), strict=True):
        rows = [joint for joint in Joint if joint.name.rpartition("_")[2] in names]
        given = np.linalg.norm(places[:, rows] - joints[:, rows], axis=-1).sum(axis=1)
        other = np.linalg.norm(swapped[:, rows] - joints[:, rows], axis=-1).sum(axis=1)
        is_exchanged = other < given
        order[np.ix_(is_exchanged, marks)] = OTHER[marks]
        flags.append(is_exchanged)
    return reorder_landmarks(raw, order), np.stack(flags, axis=1)


def select_samples(samples: Samples, rows: Array) -> Samples:
    """Some of the samples."""
    picked = {k: v[rows] for k, v in vars(samples).items() if k != "raw"}
    return Samples(raw=select_pictures(samples.raw, rows), **picked)


def build_right_set(samples: Samples, kind: int) -> tuple[Array, Array]:
    """Features (2n, f) and offsets (2n, 2) in model metres of the RIGHT joint, in the pictures and mirrored."""
    scale = estimate_scale(samples.raw)[:, None]
    offset = (average_landmarks(samples.raw) - samples.joints) / scale[..., None]
    joint = find_right_joint(kind)
    mirrored = offset[:, OTHER_SIDE[joint]] * np.array([-1.0, 1.0])
    features = [build_features(samples.raw, kind), build_features(mirror_landmarks(samples.raw, 1), kind)]
    return np.concatenate(features), np.concatenate([offset[:, joint], mirrored])


def train_offsets(samples: Samples, seed: int) -> OffsetModel:
    """Train the networks of all kinds side by side (needs torch)."""
    import torch

    torch.manual_seed(seed)
    torch.set_num_threads(1)
    sets = [build_right_set(samples, kind) for kind in range(len(KINDS))]
    inputs, targets = np.stack([f for f, _ in sets]), np.stack([o for _, o in sets])
    centre, spread = inputs.mean(axis=1), inputs.std(axis=1) + 1e-3
    x = torch.tensor(np.clip((inputs - centre[:, None]) / spread[:, None], -3, 3), dtype=torch.float32)
    y = torch.tensor(np.clip(targets, -LARGEST_M, LARGEST_M), dtype=torch.float32)
    kinds = len(KINDS)
    w1 = (torch.randn(kinds, FEATURES, HIDDEN) / FEATURES**0.5).requires_grad_()
    w2 = (torch.randn(kinds, HIDDEN, 2) * 0.01).requires_grad_()
    b1, b2 = torch.zeros(kinds, HIDDEN, requires_grad=True), y.mean(dim=1).clone().requires_grad_()
    optimiser = torch.optim.AdamW(
        [{"params": [w1, w2], "weight_decay": 0.03}, {"params": [b1, b2], "weight_decay": 0.0}], lr=3e-3
    )
    schedule = torch.optim.lr_scheduler.CosineAnnealingLR(optimiser, STEPS)
    for _ in range(STEPS):
        rows = torch.randint(0, x.shape[1], (1024,))
        batch = x[:, rows] + 0.1 * torch.randn(kinds, 1024, FEATURES)
        out = torch.tanh(torch.einsum("knf,kfh->knh", batch, w1) + b1[:, None])
        out = torch.einsum("knh,kho->kno", out, w2) + b2[:, None]
        loss = torch.nn.functional.huber_loss(out * 30, y[:, rows] * 30, delta=1.0)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        schedule.step()
    arrays = [t.detach().double().numpy() for t in (w1, b1, w2, b2)]
    return OffsetModel(
        centre=centre,
        spread=spread,
        hidden=arrays[0],
        hidden_bias=arrays[1],
        output=arrays[2],
        output_bias=arrays[3],
    )


def measure_residuals(samples: Samples, model: OffsetModel) -> Array:
    """What is left of landmark minus joint (n, 19, 2), model metres."""
    scale = estimate_scale(samples.raw)[:, None, None]
    places = average_landmarks(samples.raw) - predict_offsets(model, samples.raw)
    return np.asarray((places - samples.joints) / scale)


def cross_fit(samples: Samples) -> Array:
    """Residuals (n, 19, 2) of every picture under networks that have not seen its body."""
    residuals = np.empty_like(samples.joints)
    for fold in range(FOLDS):
        held = samples.body % FOLDS == fold
        model = train_offsets(select_samples(samples, np.flatnonzero(~held)), fold)
        residuals[held] = measure_residuals(select_samples(samples, np.flatnonzero(held)), model)
        print(f"fold {fold}: {held.sum()} pictures of {len(set(samples.body[held]))} unseen bodies", flush=True)
    return residuals


def measure_true_speed(samples: Samples) -> Array:
    """Speed (n, 19) of the true joints in model metres a second, from neighbours within 30 ms in the same throw."""
    scale = estimate_scale(samples.raw)
    speed = np.full(samples.joints.shape[:2], np.nan)
    for throw in np.unique(samples.throw):
        rows = np.flatnonzero(samples.throw == throw)
        rows = rows[np.argsort(samples.time_s[rows])]
        for a, b in pairwise(rows):
            gap = samples.time_s[b] - samples.time_s[a]
            if 0 < gap < 0.03:
                step = np.linalg.norm(samples.joints[b] - samples.joints[a], axis=-1) / gap / scale[a]
                speed[a] = np.where(np.isnan(speed[a]), step, speed[a])
                speed[b] = step
    return np.where(np.isnan(speed), 0.5, speed)


def fit_noise(samples: Samples, residuals: Array) -> NoiseModel:
    """Fit variance and standing share to residuals of unseen bodies."""
    features = build_noise_features(samples.raw, measure_true_speed(samples))
    axes = find_limb_axes(samples.joints)
    across = np.stack([-axes[..., 1], axes[..., 0]], axis=-1)
    parts = np.stack([(residuals * axes).sum(axis=-1), (residuals * across).sum(axis=-1)], axis=-1)
    coefficients = np.empty((len(KINDS), 2, features.shape[-1]))
    for kind, name in enumerate(KINDS):
        rows = [joint for joint in Joint if find_kind(joint) == kind]
        for axis in range(2):
            coefficients[kind, axis] = _fit_log_variance(
                features[:, rows].reshape(-1, features.shape[-1]), parts[:, rows, axis].ravel()
            )
        print(name, np.round(coefficients[kind], 2).tolist(), flush=True)
    log_variance = np.stack([features[:, j] @ coefficients[find_kind(j)].T for j in Joint], axis=1)
    scaled = np.clip(parts / np.exp(0.5 * log_variance), -CUT, CUT)
    gaps_s, curves = measure_correlation(samples, scaled)
    shares, fading_s = fit_standing(gaps_s, curves)
    for kind, name in enumerate(KINDS):
        print(name, "correlation", np.round(curves[:, kind], 2).tolist(), f"fades in {fading_s[kind]:.3f} s")
    depth_error = _average_depth_error(samples)
    coefficients[..., 0] += np.log(TAILS)
    return NoiseModel(
        coefficients=coefficients,
        standing_share=shares,
        noise_time_s=NOISE_TIME_S,
        depth_standard_m=depth_error,
    )


def _fit_log_variance(features: Array, residuals: Array) -> Array:
    """Coefficients of the log variance by maximum likelihood of normal residuals, far ones held at CUT."""
    start = np.zeros(features.shape[1])
    start[0] = 2 * np.log(np.median(np.abs(residuals)) * 1.4826 + 1e-4)
    bounds = [(None, None), (0.0, 6.0), (0.0, 6.0), (0.0, 3.0), (-2.0, 2.0), (0.0, 2.0)]

    def cost(c: Array) -> tuple[float, Array]:
        log_variance = features @ c
        ratio = np.minimum(residuals**2 * np.exp(-log_variance), CUT**2)
        slope = 1.0 - np.where(ratio < CUT**2, ratio, 0.0)
        ridge = 1e-3 * (c[1:] ** 2).sum()
        gradient = features.T @ slope / len(slope)
        gradient[1:] += 2e-3 * c[1:]
        return float((log_variance + ratio).mean() + ridge), gradient

    return np.asarray(minimize(cost, start, jac=True, method="L-BFGS-B", bounds=bounds).x)


def measure_correlation(samples: Samples, scaled: Array) -> tuple[Array, Array]:
    """Correlation (m, 10) of scaled residuals of one throw by kind of joint at mean time gaps (m,) up to 0.15 s."""
    pairs = []
    for throw in np.unique(samples.throw):
        rows = np.flatnonzero(samples.throw == throw)
        a, b = np.triu_indices(len(rows), 1)
        gap = np.abs(samples.time_s[rows[a]] - samples.time_s[rows[b]])
        near = gap < GAPS_S[-1]
        pairs.append((rows[a][near], rows[b][near], gap[near]))
    a, b, gap = (np.concatenate(column) for column in zip(*pairs, strict=True))
    product = (scaled[a] * scaled[b]).mean(axis=-1) / (scaled**2).mean(axis=(0, 2))
    bins = np.digitize(gap, GAPS_S) - 1
    used = [k for k in range(len(GAPS_S) - 1) if (bins == k).sum() > 50]
    curves = np.stack([product[bins == k].mean(axis=0) for k in used])
    kinds = np.array([find_kind(joint) for joint in Joint])
    by_kind = np.stack([curves[:, kinds == k].mean(axis=1) for k in range(len(KINDS))], axis=1)
    return np.array([gap[bins == k].mean() for k in used]), by_kind


def fit_standing(gaps_s: Array, curves: Array) -> tuple[Array, Array]:
    """Standing shares (10,) and the times (10,) over which the pose-bound part fades: share * exp(-gap / time).

    What fades slowly is bound to the pose and comes again in the next throw; what is alike over a tenth of a second
    stays through the throw. Halfway between the two is counted as standing: all of the first would make turning rates
    too sure, the second alone would smooth them away.
    """
    near = (gaps_s < 0.045) & (curves > 0.05).all(axis=1)
    lines = np.polyfit(gaps_s[near], np.log(curves[near]), 1)
    bound = np.clip(np.exp(lines[1]), 0.05, 0.95)
    staying = np.clip(curves[gaps_s > SLOW_GAP_S].mean(axis=0), 0.0, 0.95)
    return (bound + staying) / 2, -1.0 / np.minimum(lines[0], -1e-3)


def _average_depth_error(samples: Samples) -> float:
    """Root mean square of the model's depth against the true one, metres."""
    from elbowroom.core.landmarks.tracks import average_depth

    return float(np.sqrt(np.mean((average_depth(samples.raw) - samples.depths) ** 2)))


def write_tables(folder: Path, size: str, tables: tuple[OffsetModel, NoiseModel], how: str) -> None:
    """Write the offset networks as npz (half precision) and the rest as JSON."""
    offset, noise = tables
    halves = {name: np.asarray(value, np.float16) for name, value in vars(offset).items()}
    halves |= {name: np.asarray(vars(offset)[name], np.float32) for name in ("centre", "spread")}
    np.savez_compressed(folder / f"landmark_model_{size}.npz", **halves)
    rest = {
        "name": f"{size} landmark model, error tables {VERSION}",
        "version": VERSION,
        "how": how,
        "kinds": list(KINDS),
        "coefficients": np.round(noise.coefficients, 4).tolist(),
        "standing_share": np.round(noise.standing_share, 4).tolist(),
        "noise_time_s": round(noise.noise_time_s, 5),
        "depth_standard_m": round(noise.depth_standard_m, 4),
    }
    (folder / f"landmark_model_{size}.json").write_text(json.dumps(rest, indent=1) + "\n", encoding="utf-8")


def main() -> None:
    """Fit and write the tables of one landmark model."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("samples", type=Path, nargs="+")
    parser.add_argument("--size", choices=("light", "large"), required=True)
    parser.add_argument("--out", type=Path, required=True)
    arguments = parser.parse_args()
    samples = read_samples(arguments.samples, arguments.size)
    residuals = cross_fit(samples)
    noise = fit_noise(samples, residuals)
    how = (
        f"Fitted to {len(samples.body)} rendered pictures of {len(set(samples.throw))} random throws by "
        f"{len(set(samples.body))} invented bodies; the noise comes from bodies not fitted to ({FOLDS} folds)."
    )
    write_tables(arguments.out, arguments.size, (train_offsets(samples, FOLDS), noise), how)


if __name__ == "__main__":
    main()
