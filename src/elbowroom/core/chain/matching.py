"""What two cameras saw of the same joints at the same moments, and where that puts one against the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.bony import BonyFit, BonyPair, refine_pair
from elbowroom.core.cameras.relative import Matches, RelativePose, estimate_relative_pose
from elbowroom.core.chain.timing import SEARCH_S
from elbowroom.core.landmarks.names import BONES, OTHER_SIDE, Joint
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array, ViewedThrow

LONGEST_GAP_S = 0.05
"""Places between two pictures further apart than this are not guessed."""
COARSE_S = 0.012
"""Step of the search for the clock: three pictures at 240 a second."""
RATE_STEP_S = 0.004
"""Step for the rates of the joints."""
HYPOTHESES = 4
"""Hypotheses from essential matrices that are refined."""
ROUND_DEG = (-140.0, -100.0, -65.0, -35.0, 35.0, 65.0, 100.0, 140.0)
"""Further hypotheses: how far round the thrower the second camera may stand from the first."""
MOST_REFUSED = 2
"""Clocks at which turning alone explains the second view, from which the phones stand together."""
FEW, MANY = 500, 2500
"""Matches for choosing between hypotheses, and for the best one."""
SWAPPED = [int(OTHER_SIDE[joint]) for joint in Joint]
"""Order of the joints with left and right exchanged."""
Pair = tuple[ViewedThrow, ViewedThrow]
Indices = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class TiedPair:
    """The second camera of a pair against the first, with the clock that fits best."""

    fit: BonyFit
    """Where the second camera stands against the first, and both focal lengths."""
    shift_s: float
    """What to add to the rough offset of the second clip, seconds."""
    is_swapped: bool
    """Whether left and right of the second view had to be exchanged."""


@dataclass(frozen=True, kw_only=True)
class Start:
    """One hypothesis that a pair may be refined from."""

    pose: RelativePose
    """The pose of the essential matrix."""
    shift_s: float
    """The shift of the clock that it was made at."""
    is_swapped: bool
    """Whether sides of the second view are exchanged."""


def tie_pair(pairs: Sequence[Pair], bones_m: Array, generator: np.random.Generator) -> TiedPair | Absent:
    """Return how the second camera stands against the first from all throws that both saw.

    `bones_m` (17,) usual lengths of the bones. Essential matrices at clocks around the rough one, sides as they are and
    exchanged; the best few are refined with bones that keep their length, and the one of least cost is kept.
    """
    starts, refusal = list_starts(pairs, generator)
    if not starts:
        return refusal
    fits = [refine_start(pairs, bones_m, start, FEW, generator) for start in starts]
    best = min(fits, key=lambda tied: tied.fit.cost)
    again = Start(pose=best.fit.pose, shift_s=best.shift_s, is_swapped=best.is_swapped)
    return refine_start(pairs, bones_m, again, MANY, generator)


def list_starts(pairs: Sequence[Pair], generator: np.random.Generator) -> tuple[list[Start], Absent]:
    """Return the most promising hypotheses, best first, and the reason where there is none."""
    refusal = Absent(reason="The two clips share no picture of a throw.", advice="Let both phones film every throw.")
    starts, refusals = [], 0
    for is_swapped in (False, True):
        for shift_s in np.arange(-SEARCH_S, SEARCH_S + COARSE_S / 2, COARSE_S):
            matches = join_matches(pairs, float(shift_s), is_swapped)[0]
            pose = estimate_relative_pose(matches, generator)
            if isinstance(pose, Absent):
                refusal, refusals = pose, refusals + 1
            else:
                starts.append(Start(pose=pose, shift_s=float(shift_s), is_swapped=is_swapped))
    if refusals >= MOST_REFUSED:
        return [], refusal
    best = sorted(starts, key=lambda start: start.pose.misfit_cost)[:HYPOTHESES]
    return (best + [place_round(turn_deg) for turn_deg in ROUND_DEG] if best else []), refusal


def place_round(turn_deg: float) -> Start:
    """Return the hypothesis that the second camera stands `turn_deg` round the thrower, both 5 m away and level."""
    cosine, sine = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    rotation = np.array([[cosine, 0.0, sine], [0.0, 1.0, 0.0], [-sine, 0.0, cosine]])
    direction = np.array([-sine, 0.0, 1.0 - cosine])
    pose = RelativePose(rotation=rotation, direction=direction / np.linalg.norm(direction), misfit_cost=3.0)
    return Start(pose=pose, shift_s=0.0, is_swapped=False)


def join_matches(pairs: Sequence[Pair], shift_s: float, is_swapped: bool) -> tuple[Matches, Array, Array]:
    """Return the matches of all throws, with the joint (n,) and the number of the moment (n,) of each."""
    parts = [pair_views(first, second, shift_s, is_swapped) for first, second in pairs]
    matches = Matches(
        first=np.concatenate([part[0].first for part in parts]),
        second=np.concatenate([part[0].second for part in parts]),
        standards=np.concatenate([part[0].standards for part in parts]),
    )
    moments = np.concatenate([part[2] + 10_000 * throw for throw, part in enumerate(parts)])
    return matches, np.concatenate([part[1] for part in parts]), moments


def refine_start(
    pairs: Sequence[Pair], bones_m: Array, start: Start, most: int, generator: np.random.Generator
) -> TiedPair:
    """Return a hypothesis refined on about `most` matches, whole moments at a time."""
    ahead = join_matches(pairs, start.shift_s + RATE_STEP_S, start.is_swapped)
    matches, joints, moments = join_matches(pairs, start.shift_s, start.is_swapped)
    places = dict(zip(zip(ahead[2].tolist(), ahead[1].tolist(), strict=True), ahead[0].second, strict=True))
    keys = list(zip(moments.tolist(), joints.tolist(), strict=True))
    later = np.array([places.get(key, place) for key, place in zip(keys, matches.second, strict=True)])
    kinds = np.unique(moments)
    chosen = generator.permutation(kinds)[: max(most // len(Joint), 12)]
    kept = np.isin(moments, chosen)
    ends, bones = list_bones([key for key, keep in zip(keys, kept, strict=True) if keep])
    pair = BonyPair(
        matches=Matches(first=matches.first[kept], second=matches.second[kept], standards=matches.standards[kept]),
        # A later clock shows where the joint was earlier: the rate along the track has the other sign.
        rates=-(later[kept] - matches.second[kept]) / RATE_STEP_S,
        ends=ends,
        bones=bones,
        expected_m=bones_m,
    )
    fit = refine_pair(pair, start.pose)
    return TiedPair(fit=fit, shift_s=start.shift_s + fit.shift_s, is_swapped=start.is_swapped)


def list_bones(keys: Sequence[tuple[float, float]]) -> tuple[Indices, Indices]:
    """Return the matches at both ends of every bone (b, 2) and its number (b,); `keys` = moment and joint of each."""
    place = {key: number for number, key in enumerate(keys)}
    rows = [
        (place[moment, one], place[moment, other], bone)
        for moment in sorted({key[0] for key in keys})
        for bone, (one, other) in enumerate(BONES)
        if (moment, one) in place and (moment, other) in place
    ]
    table = np.array(rows, dtype=np.int64).reshape(-1, 3)
    return table[:, :2], table[:, 2]


def pair_views(
    first: ViewedThrow, second: ViewedThrow, shift_s: float, is_swapped: bool
) -> tuple[Matches, Array, Array]:
    """Return the matches of one throw at the times of the first view, joint and moment of each (n,)."""
    order = SWAPPED if is_swapped else list(range(len(Joint)))
    rows = []
    for joint in Joint:
        own = first.track.seen[:, joint] & np.isfinite(first.flat[:, joint]).all(axis=1)
        times = first.track.times_s + first.offset_s + first.camera.row_time_s * first.track.pixels[:, joint, 1]
        places = interpolate_joint(second, order[joint], shift_s, times)
        good = own & np.isfinite(places).all(axis=1)
        spread = [find_spread(view, number) for view, number in ((first, int(joint)), (second, order[joint]))]
        count = int(np.count_nonzero(good))
        standards = np.broadcast_to(np.array(spread), (count, 2))
        rows.append(
            (first.flat[good, joint], places[good], standards, np.full(count, float(joint)), np.flatnonzero(good) * 1.0)
        )
    one, other, standards, joints, moments = (np.concatenate(part) for part in zip(*rows, strict=True))
    return Matches(first=one, second=other, standards=standards), joints, moments


def interpolate_joint(view: ViewedThrow, joint: int, shift_s: float, times_s: Array) -> Array:
    """Return a joint's directions (n, 2) in a view at times on the visit clock; NaN where no picture is near."""
    seen = view.track.seen[:, joint] & np.isfinite(view.flat[:, joint]).all(axis=1)
    missing = np.full((len(times_s), 2), np.nan)
    if np.count_nonzero(seen) < 2:
        return missing
    rows = view.camera.row_time_s * view.track.pixels[seen, joint, 1]
    known = view.track.times_s[seen] + view.offset_s + shift_s + rows
    after = np.clip(np.searchsorted(known, times_s), 1, len(known) - 1)
    gap = known[after] - known[after - 1]
    inside = (times_s >= known[0]) & (times_s <= known[-1]) & (gap <= LONGEST_GAP_S)
    share = np.clip((times_s - known[after - 1]) / np.maximum(gap, 1e-9), 0.0, 1.0)[:, None]
    flat = view.flat[seen, joint]
    places = (1.0 - share) * flat[after - 1] + share * flat[after]
    return np.where(inside[:, None], places, missing)


def find_spread(view: ViewedThrow, joint: int) -> float:
    """Return the usual standard uncertainty of a joint's direction, noise and standing offset together."""
    total = view.track.noise_px2[:, joint] + view.track.offset_px2[:, joint]
    variance = float(np.median(np.trace(total, axis1=1, axis2=2) / 2))
    return float(np.sqrt(max(variance, 0.25))) / view.camera.lens.focal_px
