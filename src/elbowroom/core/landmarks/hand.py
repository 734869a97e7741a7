"""A joint that a person placed in one picture, and what that says of the detector's error in the pictures about it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.landmarks.types import Correction, JointTrack

Array = NDArray[np.float64]


def replace_joint(track: JointTrack, joint: Joint, picture: int, time_s: float, place_px: Array) -> JointTrack:
    """Return the track with one joint taken out of one picture, and shifted in the pictures about it.

    `place_px` (2,) is where a person placed the joint in the picture taken at `time_s`; it comes back in as an
    observation of its own. How far the detector was off there is known then. Its errors come in bursts that last about
    the track's correlation time T, so a picture t away shares exp(-t / T) of that error: the joint is shifted back by
    so much, and its noise grows by what the share leaves open, error^2 share^2 (1 - share^2), nothing far away.
    """
    seen = track.seen[:, joint]
    if not seen.any():
        return track
    off_px = find_error_px(track, joint, time_s, place_px)
    share = np.exp(-np.abs(track.times_s - time_s) / max(track.noise_time_s, 1e-4))
    pixels, noise, used = track.pixels.copy(), track.noise_px2.copy(), track.seen.copy()
    pixels[:, joint] -= share[:, None] * off_px
    noise[:, joint] += (share**2 * (1.0 - share**2))[:, None, None] * np.outer(off_px, off_px)
    used[:, joint] &= track.pictures != picture
    change = Correction(
        what="moved by hand",
        pictures=(picture, picture),
        why=f"A person placed the {joint.name.lower().replace('_', ' ')} there.",
    )
    return replace(track, pixels=pixels, noise_px2=noise, seen=used, corrections=(*track.corrections, change))


def find_error_px(track: JointTrack, joint: Joint, time_s: float, place_px: Array) -> Array:
    """Return how far the detector is from a place (2,) at a time, (2,) pixels, between its pictures where need be."""
    seen = track.seen[:, joint]
    times, places = track.times_s[seen], track.pixels[seen, joint]
    found = [float(np.interp(time_s, times, places[:, axis])) for axis in range(2)]
    return np.asarray(np.array(found) - place_px)
