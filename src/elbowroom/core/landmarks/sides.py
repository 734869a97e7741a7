"""Resolve left/right exchanges of the detector over time within one view.

Seen from behind, the detector takes a back for a front in about a third of the pictures (spikes). Each picture is in
one of four states: as given, arms exchanged, legs exchanged, both exchanged. The states of all pictures are chosen
together (Viterbi) so that the limbs move smoothly, changes are rare, and what is known of the view, the face and the
throwing hand is respected.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import (
    ARMS,
    FACE,
    LEGS,
    OTHER,
    measure_torso,
    reorder_landmarks,
)
from elbowroom.core.landmarks.lost import find_lost_arms
from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.people import measure_hand_speed
from elbowroom.core.landmarks.types import Correction, Indices, RawLandmarks

Array = NDArray[np.float64]
States = NDArray[np.int64]

STATES = ((0, 0), (1, 0), (0, 1), (1, 1))
"""Exchanged (arms, legs) in each state."""
EXCHANGED_SHARE = {True: 0.1, False: 0.03}
"""Share of pictures with an exchange that is expected beforehand, seen from behind and from elsewhere: chosen on
rendered throws (up to 5 % from any side); a third of the pictures, as the spikes saw from behind, still is repaired."""
CHANGE_COST = 4.0
"""Cost of a change of state between pictures close together, in units of log likelihood."""
FORGET_S = 0.1
"""Time over which the cost of a change fades: what the detector took a body for long ago says little."""
SPLIT_COST = 1.5
"""Extra cost a 30th of a second of exchanging only arms or only legs: mostly the whole body is taken wrongly."""
FACING_COST = 2.0
"""Cost a 30th of a second and torso length of shoulders or hips that lie across the wrong way round."""
MOVE_SHARE = 0.04
"""Standard deviation of a limb point about where its own motion carries it, in torso lengths, beside the part that
grows with time."""
MOVE_GROWTH = 60.0
"""Usual acceleration of a limb point, torso lengths / s^2; a hand in a throw reaches several hundred, which the
heavy-tailed cost of a move lets pass."""

_LIMBS: tuple[Indices, Indices] = (ARMS, LEGS)


@dataclass(frozen=True, kw_only=True)
class SideKnowledge:
    """What is known beforehand about the sides in a clip."""

    is_behind: bool
    """Whether the camera stands behind the thrower."""
    is_front: bool = False
    """Whether the camera stands in front of the thrower, at the target's side."""
    hand: Side | None = None
    """The stated throwing hand; leave out to judge the hand from the clip."""


def repair_sides(
    raw: RawLandmarks, pictures: Indices, times_s: Array, known: SideKnowledge
) -> tuple[RawLandmarks, tuple[Correction, ...]]:
    """Return the landmarks with sides put right and lost arms marked, and one correction a changed stretch.

    `raw` holds n pictures with increasing numbers `pictures` (n,) and capture times `times_s` (n,). A lost arm keeps
    its places but gets presence and peak 0, which later stages read as not seen. Fewer than three pictures stay as
    they are. Mirrored input gives mirrored output; a shift of the times changes nothing.
    """
    if len(times_s) < 3:
        return raw, ()
    states = _choose_states(raw, times_s, known)
    repaired = reorder_landmarks(raw, _orders(states))
    lost, lost_corrections = find_lost_arms(repaired, pictures, times_s)
    marked = replace(repaired, presence=np.where(lost, 0.0, repaired.presence), peak=np.where(lost, 0.0, repaired.peak))
    return marked, (*list_exchanges(states, pictures, _WHY), *lost_corrections)


_WHY = "The limbs move smoothly only with the sides exchanged here."


def _orders(states: States) -> Indices:
    """Return (n, 33) which given landmark each landmark is taken from, for states (n,)."""
    order = np.tile(np.arange(len(OTHER)), (len(states), 1))
    flags = np.array(STATES)[states].astype(bool)
    order[np.ix_(flags[:, 0], ARMS)] = OTHER[ARMS]
    order[np.ix_(flags[:, 1], LEGS)] = OTHER[LEGS]
    order[np.ix_(flags[:, 0], FACE)] = OTHER[FACE]
    return order


def _choose_states(raw: RawLandmarks, times_s: Array, known: SideKnowledge) -> States:
    """Choose the states of all pictures, then keep them or exchange all of them, whichever what is known favours."""
    prior = _prior_costs(raw, times_s, known)
    moves = _move_costs(raw, times_s)
    states = _follow_cheapest(prior, moves, np.exp(-np.diff(times_s) / FORGET_S))
    turned = 3 - states
    as_found = prior[np.arange(len(states)), states].sum() + _hand_cost(raw, times_s, states, known)
    exchanged = prior[np.arange(len(states)), turned].sum() + _hand_cost(raw, times_s, turned, known)
    return turned if exchanged < as_found else states


def _prior_costs(raw: RawLandmarks, times_s: Array, known: SideKnowledge) -> Array:
    """Return (n, 4) cost of each state from the view, the face and the body's facing, weighted by time."""
    share = EXCHANGED_SHARE[known.is_behind]
    weight = np.minimum(np.gradient(times_s) * 30.0, 1.0)
    face = raw.visibility[:, [Landmark.NOSE, Landmark.LEFT_EYE, Landmark.RIGHT_EYE]].mean(axis=1)
    believed = 1.0 + (0.0 if known.is_behind else 1.0) * face
    exchanged = np.log((1.0 - share) / share) * believed
    given = read_sides(raw, known)
    costs = [
        0.5 * exchanged * (arms + legs) + given[:, 0] * (1 - 2 * arms) + given[:, 1] * (1 - 2 * legs)
        for arms, legs in STATES
    ]
    split = SPLIT_COST * np.array([arms != legs for arms, legs in STATES])
    return np.asarray((np.stack(costs, axis=1) + split) * weight[:, None])


def read_sides(raw: RawLandmarks, known: SideKnowledge) -> Array:
    """Return (n, 2) how much the places alone speak against the sides of arms and of legs as given (- for them).

    From behind, once the body has turned to the target, the left shoulder and hip lie to the left in the picture
    (from the front, to the right); overlapping shoulders or hips say nothing.
    """
    torso = np.maximum(np.median(measure_torso(raw)), 1e-6)
    places = raw.pixels / torso
    against = np.zeros((len(places), 2))
    facing = 1.0 * known.is_behind - 1.0 * known.is_front
    for column, (part, still) in enumerate((("SHOULDER", 0.25), ("HIP", 0.15))):
        across = places[:, Landmark[f"LEFT_{part}"], 0] - places[:, Landmark[f"RIGHT_{part}"], 0]
        against[:, column] = FACING_COST * facing * np.sign(across) * np.clip(np.abs(across) - still, 0.0, 0.4)
    return against


def _move_costs(raw: RawLandmarks, times_s: Array) -> Array:
    """Return (n - 2, 2, 2, 2, 2) cost of limb group g's states (a, b, c) at pictures k, k + 1, k + 2.

    The place is held against the one that the two pictures before carry on to; axes: picture, group, a, b, c.
    """
    torso = max(float(np.median(measure_torso(raw))), 1e-6)
    gap = np.diff(times_s)
    ratio = np.minimum(gap[1:] / gap[:-1], 2.0)[:, None, None]
    deviation = torso * (MOVE_SHARE + 0.5 * MOVE_GROWTH * gap[1:] * (gap[1:] + gap[:-1]) / 2.0)
    costs = np.zeros((len(gap) - 1, 2, 2, 2, 2))
    for group, marks in enumerate(_LIMBS):
        ways = (raw.pixels[:, marks], raw.pixels[:, OTHER[marks]])
        weight = np.maximum(raw.peak[2:, marks], 0.2)
        for a, b, c in np.ndindex(2, 2, 2):
            ahead = ways[b][1:-1] + ratio * (ways[b][1:-1] - ways[a][:-2])
            still = np.linalg.norm(ways[c][2:] - ways[b][1:-1], axis=-1)
            off = np.minimum(np.linalg.norm(ways[c][2:] - ahead, axis=-1), still) / deviation[:, None]
            costs[:, group, a, b, c] = (weight * np.log1p(off**2)).sum(axis=1)
    return costs


def _follow_cheapest(prior: Array, moves: Array, memory: Array) -> States:
    """Return the cheapest states (n,) by the second-order Viterbi algorithm over pairs of neighbouring states.

    `memory` (n - 1,) is the share of the cost of a change that is left between neighbouring pictures.
    """
    arms, legs = np.array(STATES).T
    changes = CHANGE_COST * ((arms[:, None] != arms[None, :]) | (legs[:, None] != legs[None, :]))
    a, b, c = np.meshgrid(np.arange(4), np.arange(4), np.arange(4), indexing="ij")
    total = prior[0][:, None] + prior[1][None, :] + memory[0] * changes
    back = np.zeros((len(prior), 4, 4), dtype=np.int64)
    for k in range(2, len(prior)):
        step = moves[k - 2, 0, arms[a], arms[b], arms[c]] + moves[k - 2, 1, legs[a], legs[b], legs[c]]
        all_costs = total[:, :, None] + step + memory[k - 1] * changes[None, :, :] + prior[k][None, None, :]
        back[k] = all_costs.argmin(axis=0)
        total = all_costs.min(axis=0)
    states = np.zeros(len(prior), dtype=np.int64)
    states[-2], states[-1] = np.unravel_index(int(total.argmin()), total.shape)
    for k in range(len(prior) - 1, 1, -1):
        states[k - 2] = back[k, states[k - 1], states[k]]
    return states


def _hand_cost(raw: RawLandmarks, times_s: Array, states: States, known: SideKnowledge) -> float:
    """Cost of the throw being made with the other hand than stated: up to a few seconds' worth of prior."""
    if known.hand is None:
        return 0.0
    repaired = reorder_landmarks(raw, _orders(states))
    fastest = {side: float(measure_hand_speed(repaired, times_s, side).max()) for side in Side}
    stated = fastest[known.hand]
    other = max(speed for side, speed in fastest.items() if side is not known.hand)
    scale = 12.0 if known.is_behind else 6.0
    return scale * max(other - stated, 0.0) / max(other, 1e-6)


def list_exchanges(states: States, pictures: Indices, why: str) -> tuple[Correction, ...]:
    """Return one correction for each stretch of pictures (n,) that share a state (n,) other than `as given`."""
    names = ("", "arms exchanged", "legs exchanged", "sides exchanged")
    edges = np.flatnonzero(np.diff(states)) + 1
    starts, ends = np.concatenate([[0], edges]), np.concatenate([edges, [len(states)]])
    return tuple(
        Correction(what=names[states[s]], pictures=(int(pictures[s]), int(pictures[e - 1])), why=why)
        for s, e in zip(starts.tolist(), ends.tolist(), strict=True)
        if states[s]
    )
