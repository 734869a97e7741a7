"""Follow each person through the sparse pictures of a clip, and pick the one who throws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter
from scipy.optimize import linear_sum_assignment

from elbowroom.core.landmarks.layout import measure_torso
from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

REACH = 0.35
"""Largest step of a person from one looked-at picture to the next, as a share of the region's side."""
MISSES = 8
"""Looked-at pictures that a person may be missed before being taken as gone."""
LONGEST_DOUBLE = 8
"""Looked-at pictures for which one person may be found twice before the older of the two tracks ends."""
THROWING_SPEED_HZ = 9.0
"""Hand speed against the trunk, in torso lengths a second over two sparse steps, that only a throw or a hard swing
reaches: a walker's hand reaches 3 to 5, the captured pitch of the reference test about 20 (chosen by this project)."""
EQUAL_SHARE = 0.45
"""Two people whose hand speeds differ by less than this ratio both count as throwing. The highest speed of a hand is
rough: of two copies of one thrower in one picture the light model gave one twice the other's."""


@dataclass(frozen=True, kw_only=True)
class PersonTrack:
    """One person followed through the pictures that the detector looked at."""

    pictures: Indices
    """(k,) numbers of the pictures in which the person was found, increasing."""
    regions: tuple[Region, ...]
    """Where the person was in each of them."""
    scores: Array
    """(k,) detector's confidence in each of them."""

    @property
    def centre_px(self) -> Array:
        """Median place of the person, x and y, shape (2,)."""
        return np.asarray(np.median([region.centre_px for region in self.regions], axis=0))


class _Growing:
    """A track while it is being built."""

    def __init__(self, picture: int, person: Person) -> None:
        self.pictures = [picture]
        self.people = [person]
        self.missed = 0

    def cost(self, person: Person) -> float:
        """Distance to the last place in region sides, growing with the difference in size."""
        last = self.people[-1].region
        size = max(last.size_px, person.region.size_px, 1e-6)
        step = float(np.linalg.norm(person.region.centre_px - last.centre_px)) / size
        ratio = abs(float(np.log(max(person.region.size_px, 1e-6) / max(last.size_px, 1e-6))))
        return step + 0.3 * ratio

    def reach(self) -> float:
        """Largest cost at which a person still is the same one."""
        return REACH * (1.0 + 0.5 * min(self.missed, 3))

    def add(self, picture: int, person: Person) -> None:
        self.pictures.append(picture)
        self.people.append(person)
        self.missed = 0

    def freeze(self) -> PersonTrack:
        return PersonTrack(
            pictures=np.array(self.pictures, dtype=np.int64),
            regions=tuple(person.region for person in self.people),
            scores=np.array([person.score for person in self.people]),
        )


def link_people(people: Sequence[Sequence[Person]], pictures: Indices) -> tuple[PersonTrack, ...]:
    """Follow people through the looked-at pictures: `people[i]` were found in picture `pictures[i]`.

    Assignment by least total step (Hungarian method) between neighbouring pictures. Longest track first.
    """
    open_tracks: list[_Growing] = []
    closed: list[_Growing] = []
    for picture, found in zip(pictures.tolist(), people, strict=True):
        _extend_tracks(open_tracks, picture, list(found))
        closed += [track for track in open_tracks if track.missed > MISSES]
        open_tracks = [track for track in open_tracks if track.missed <= MISSES]
    tracks = join_broken([track.freeze() for track in closed + open_tracks], pictures)
    return tuple(sorted(tracks, key=lambda track: (-len(track.pictures), int(track.pictures[0]))))


def join_broken(tracks: Sequence[PersonTrack], pictures: Indices) -> list[PersonTrack]:
    """Join each track to the one that ended about when and where it begins: one person found twice for a while.

    `pictures` are the numbers of all looked-at pictures, increasing.
    """
    joined: list[PersonTrack] = []
    for track in sorted(tracks, key=lambda track: int(track.pictures[0])):
        before = [number for number, other in enumerate(joined) if _is_sequel(other, track, pictures)]
        if before:
            joined[before[-1]] = _append_track(joined[before[-1]], track)
        else:
            joined.append(track)
    return joined


def _is_sequel(first: PersonTrack, second: PersonTrack, pictures: Indices) -> bool:
    """Whether the second track goes on where the first one ended."""
    gap = int(np.searchsorted(pictures, second.pictures[0]) - np.searchsorted(pictures, first.pictures[-1]))
    if not -LONGEST_DOUBLE <= gap <= MISSES or second.pictures[-1] <= first.pictures[-1]:
        return False
    then = max(int(np.searchsorted(first.pictures, second.pictures[0], side="right")) - 1, 0)
    region, other = first.regions[then], second.regions[0]
    size = max(region.size_px, other.size_px, 1e-6)
    return float(np.linalg.norm(other.centre_px - region.centre_px)) <= 2 * REACH * size


def _append_track(first: PersonTrack, second: PersonTrack) -> PersonTrack:
    """Return both tracks as one; where both saw the person, the first is kept."""
    new = np.flatnonzero(second.pictures > first.pictures[-1])
    return PersonTrack(
        pictures=np.concatenate([first.pictures, second.pictures[new]]),
        regions=(*first.regions, *(second.regions[index] for index in new.tolist())),
        scores=np.concatenate([first.scores, second.scores[new]]),
    )


def _extend_tracks(tracks: list[_Growing], picture: int, found: list[Person]) -> None:
    costs = np.array([[track.cost(person) for person in found] for track in tracks]).reshape(len(tracks), len(found))
    reach = np.array([track.reach() for track in tracks])
    rows, columns = linear_sum_assignment(np.minimum(costs, 10.0))
    pairs = zip(rows.tolist(), columns.tolist(), strict=True)
    taken = {row: column for row, column in pairs if costs[row, column] <= reach[row]}
    for row, track in enumerate(tracks):
        if row in taken:
            track.add(picture, found[taken[row]])
        else:
            track.missed += 1
    left = set(range(len(found))) - set(taken.values())
    tracks.extend(_Growing(picture, found[column]) for column in sorted(left))


def interpolate_regions(track: PersonTrack, pictures: Indices) -> tuple[Region, ...]:
    """Return the person's region in any pictures: straight lines between the found ones, held at the ends."""
    known = track.pictures.astype(np.float64)
    rotation = np.unwrap([region.rotation_rad for region in track.regions])
    rows = np.array([[*region.centre_px, region.size_px] for region in track.regions])
    values = np.column_stack([rows, rotation])
    at = [np.interp(pictures.astype(np.float64), known, values[:, column]) for column in range(4)]
    return tuple(
        Region(centre_px=np.array([x, y]), size_px=float(size), rotation_rad=float(turn))
        for x, y, size, turn in zip(*at, strict=True)
    )


def measure_hand_speed(raw: RawLandmarks, times_s: Array, side: Side) -> Array:
    """Return (n,) the speed of a hand against the trunk in torso lengths a second, single-picture jumps left out.

    Central differences of the wrist's place from mid-shoulders after a median over three pictures; the torso length
    is the median over the pictures. Zero where fewer than five pictures are given.
    """
    n = len(times_s)
    if n < 5:
        return np.zeros(n)
    wrist = raw.pixels[:, Landmark[f"{side.name}_WRIST"]]
    trunk = raw.pixels[:, [Landmark.LEFT_SHOULDER, Landmark.RIGHT_SHOULDER]].mean(axis=1)
    path = median_filter(wrist - trunk, size=(3, 1), mode="nearest")
    speed = np.linalg.norm(path[2:] - path[:-2], axis=-1) / (times_s[2:] - times_s[:-2])
    torso = max(float(np.median(measure_torso(raw))), 1e-6)
    return np.concatenate([speed[:1], speed, speed[-1:]]) / torso


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A person who may be the thrower, with the light model's landmarks."""

    times_s: Array
    """(n,) capture times of the landmarks, seconds."""
    landmarks: RawLandmarks
    """The light model's landmarks in n sparse pictures."""

    @property
    def hand_speed_hz(self) -> float:
        """Highest speed of either hand, in torso lengths a second."""
        speeds = [measure_hand_speed(self.landmarks, self.times_s, side) for side in Side]
        return float(max((speed.max() for speed in speeds if len(speed)), default=0.0))

    @property
    def place_px(self) -> float:
        """Median x of the hips in the picture."""
        return float(np.median(self.landmarks.pixels[:, [Landmark.LEFT_HIP, Landmark.RIGHT_HIP], 0]))


def pick_thrower(candidates: Sequence[Candidate], which: Side | None = None) -> int | Absent:
    """Return the number of the candidate whose hand moves fastest for the size of the body.

    `which` says which of two throwers is meant, by the side of the picture. `Absent` where nobody is there, or where
    two people throw and `which` does not say which one.
    """
    if not candidates:
        return Absent(reason="No person was found in the clip.", advice="Film the whole body, 300 pixels tall or more.")
    speeds = np.array([candidate.hand_speed_hz for candidate in candidates])
    best = int(np.argmax(speeds))
    throwing = np.flatnonzero((speeds >= THROWING_SPEED_HZ) & (speeds >= EQUAL_SHARE * speeds[best]))
    if len(throwing) <= 1:
        return best
    if which is None:
        return Absent(
            reason="Two people throw in the clip; say which one is meant (thrower = left or right of the picture).",
            advice="Name the side of the picture on which the athlete stands.",
        )
    places = [candidates[index].place_px for index in throwing.tolist()]
    chosen = np.argmin(places) if which is Side.LEFT else np.argmax(places)
    return int(throwing[int(chosen)])
