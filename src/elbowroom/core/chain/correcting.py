"""Corrections of a screened visit: what a person puts right, and what is measured again because of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.chain.measuring import draw_sources
from elbowroom.core.chain.types import (
    ChainSetting,
    Change,
    ClipThrows,
    DrawSeed,
    DroppedThrow,
    FailedThrow,
    JoinedThrow,
    MeasuredThrow,
    MovedInstant,
    MovedLandmark,
    SplitThrow,
    TrackedThrow,
)
from elbowroom.core.chain.visit import (
    NO_CLOCK,
    NO_HOLD,
    DrawnThrow,
    Placed,
    find_window,
    measure_drawn,
    place_members,
)
from elbowroom.core.chain.workings import KeptThrow, Workings
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.hand import replace_joint
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.solve import (
    MOST_STEPS,
    Problem,
    build_motion_again,
    build_problem,
    reconstruct_throw,
    refine_throw,
)
from elbowroom.core.reconstruction.types import HandMarks, Motion, ViewedThrow
from elbowroom.errors import CorrectionError

HAND_STANDARD_M = 0.010
"""How well a person places the centre of a joint that the picture shows, metres; chosen by this project."""
HAND_STANDARD_PX = 1.5
"""How well a person hits the pixel that is meant; chosen by this project."""
FIRST_DRAWS, FIRST_STEPS = 30, 3
"""Draws for each source and steps of the search of the first answer to a correction, which has to come within a
second; the full one follows."""
REARRANGED = Absent(reason="The throw was put together anew by hand.")
"""Stands for the solution of a throw whose clips were changed."""


@dataclass(frozen=True, kw_only=True)
class PlannedThrow:
    """One throw as the corrections want it."""

    kept: KeptThrow
    """Number, tracks, seed and earlier solution."""
    landmarks: tuple[MovedLandmark, ...] = ()
    """Joints placed by hand."""
    instants: tuple[MovedInstant, ...] = ()
    """Instants placed by hand."""

    @property
    def is_untouched(self) -> bool:
        """Whether the numbers of the screening still hold."""
        return not self.landmarks and not self.instants and self.kept.solution is not REARRANGED


def apply_corrections(workings: Workings, changes: Sequence[Change]) -> tuple[PlannedThrow, ...]:
    """Return the throws as the changes want them; throws first, whatever the order of the changes.

    Raises `CorrectionError` where a change does not fit.
    """
    throws = {throw.number: throw for throw in workings.throws}
    for change in changes:
        if isinstance(change, JoinedThrow):
            join_throws(throws, change, workings)
        elif isinstance(change, SplitThrow):
            split_throw(throws, change)
    dropped = {get_throw(throws, change.throw).number for change in changes if isinstance(change, DroppedThrow)}
    planned = []
    for number, throw in sorted(throws.items()):
        landmarks = tuple(c for c in changes if isinstance(c, MovedLandmark) and c.throw == number)
        instants = tuple(c for c in changes if isinstance(c, MovedInstant) and c.throw == number)
        for landmark in landmarks:
            check_landmark(throw, landmark, workings)
        if number not in dropped:
            planned.append(PlannedThrow(kept=throw, landmarks=landmarks, instants=instants))
    for change in changes:
        if isinstance(change, MovedLandmark | MovedInstant):
            get_throw(throws, change.throw)
    return tuple(planned)


def get_throw(throws: dict[int, KeptThrow], number: int) -> KeptThrow:
    """Return a throw by its number; raises `CorrectionError` where there is none."""
    if number not in throws:
        known = ", ".join(str(known) for known in sorted(throws))
        raise CorrectionError(f"There is no throw {number} in this visit: take one of {known}.")
    return throws[number]


def join_throws(throws: dict[int, KeptThrow], change: JoinedThrow, workings: Workings) -> None:
    """Give one throw the clips of another, which then is no throw of its own."""
    first, second = get_throw(throws, change.throw), get_throw(throws, change.other)
    both = {member.clip for member in first.members} & {member.clip for member in second.members}
    if both or first.number == second.number:
        names = ", ".join(workings.clips[clip].camera.name for clip in sorted(both)) or "the same clips"
        raise CorrectionError(
            f"Throws {change.throw} and {change.other} are both seen by {names}, and a clip shows a throw once: "
            "drop the one that is none."
        )
    members = tuple(sorted((*first.members, *second.members), key=lambda member: member.clip))
    throws[change.throw] = replace(first, members=members, solution=REARRANGED, result=REARRANGED)
    del throws[change.other]


def split_throw(throws: dict[int, KeptThrow], change: SplitThrow) -> None:
    """Make a throw of each clip; the first keeps the number, the others get the next free ones."""
    throw = get_throw(throws, change.throw)
    if len(throw.members) < 2:
        raise CorrectionError(f"Throw {change.throw} is seen by one clip alone, so there is nothing to split.")
    free = max(throws) + 1
    for place, member in enumerate(throw.members):
        number = throw.number if place == 0 else free + place - 1
        seed = DrawSeed(entropy=throw.seed.entropy, spawn_key=(*throw.seed.spawn_key, 1000 + place))
        throws[number] = KeptThrow(number=number, members=(member,), seed=seed, solution=REARRANGED, result=REARRANGED)


def check_landmark(throw: KeptThrow, landmark: MovedLandmark, workings: Workings) -> None:
    """Raise `CorrectionError` where a joint cannot have been placed there."""
    if landmark.clip not in {member.clip for member in throw.members}:
        raise CorrectionError(f"Throw {throw.number} is not seen by clip {landmark.clip + 1}: choose another clip.")
    clip = workings.clips[landmark.clip]
    if not 0 <= landmark.picture < len(clip.times.times_s):
        raise CorrectionError(f"{clip.camera.name} has no picture {landmark.picture}: choose one that it has.")
    (x, y), lens = landmark.place_px, clip.camera.lens
    if not (-0.5 <= x <= lens.width_px - 0.5 and -0.5 <= y <= lens.height_px - 0.5):
        raise CorrectionError("A joint can only be placed inside the picture: leave it where it was found instead.")


def draw_planned(
    planned: PlannedThrow, workings: Workings, setting: ChainSetting, generator: np.random.Generator
) -> DrawnThrow | FailedThrow:
    """Return a throw's motion with its draws: repeated as it was, or searched anew where a joint was placed.

    `generator` is made from the throw's seed. The same throw and setting give the same numbers.
    """
    kept = planned.kept
    members = [replace_joints(member, planned.landmarks, workings) for member in kept.members]
    views = [
        (replace(view, marks=place_marks(planned.landmarks, member.clip, workings.clips[member.clip])), member)
        for view, member in place_members(tuple(members), workings.clips, workings.clocks)
    ]
    if not views:
        absent = kept.solution if isinstance(kept.solution, Absent) and not kept.members else NO_CLOCK
        return FailedThrow(number=kept.number, absent=absent, tracked=kept.members, seed=kept.seed)
    try:
        motion = find_motion(planned, views, setting)
        by_source = draw_sources(motion, workings.set_up, setting, generator)
    except np.linalg.LinAlgError:
        return FailedThrow(number=kept.number, absent=NO_HOLD, tracked=kept.members, seed=kept.seed)
    return DrawnThrow(motion=motion, by_source=by_source, generator=generator)


def find_motion(planned: PlannedThrow, views: Sequence[Placed], setting: ChainSetting) -> Motion:
    """Return a throw's motion: from its earlier solution where it has one, else from the start."""
    is_right = setting.athlete.hand is ThrowingHand.RIGHT
    seen: tuple[ViewedThrow, ...] = tuple(view for view, _ in views)
    solution = planned.kept.solution
    if isinstance(solution, Absent):
        return reconstruct_throw(seen, find_window(views), setting.priors, project_with_jacobian, is_right)
    problem: Problem = build_problem(seen, find_window(views), setting.priors, project_with_jacobian, is_right)
    if planned.landmarks:
        return refine_throw(problem, solution.unknowns, FIRST_STEPS if setting.draws <= FIRST_DRAWS else MOST_STEPS)
    return build_motion_again(problem, solution.base, solution.unknowns)


def replace_joints(member: TrackedThrow, landmarks: Sequence[MovedLandmark], workings: Workings) -> TrackedThrow:
    """Return a track with the joints that a person placed taken out, and those about them shifted."""
    track, times = member.track, workings.clips[member.clip].times.times_s
    for change in sorted(landmarks, key=lambda change: (change.picture, change.joint)):
        if change.clip == member.clip:
            place = np.array(change.place_px)
            track = replace_joint(track, change.joint, change.picture, float(times[change.picture]), place)
    return replace(member, track=track)


def place_marks(landmarks: Sequence[MovedLandmark], clip: int, shown: ClipThrows) -> HandMarks:
    """Return the joints that were placed in one clip as the reconstruction takes them in."""
    own = [landmark for landmark in landmarks if landmark.clip == clip]
    camera = shown.camera
    # The field's origin lies at the thrower's feet, so the camera's distance from it is the thrower's.
    sharpness_px = camera.lens.focal_px * HAND_STANDARD_M / max(float(np.linalg.norm(camera.place)), 0.5)
    return HandMarks(
        times_s=shown.times.times_s[[landmark.picture for landmark in own]],
        joints=np.array([landmark.joint for landmark in own], dtype=np.int64),
        pixels=np.array([landmark.place_px for landmark in own], dtype=np.float64).reshape(-1, 2),
        standard_px=np.full(len(own), float(np.hypot(HAND_STANDARD_PX, sharpness_px))),
    )


def measure_planned(
    planned: PlannedThrow, drawn: DrawnThrow, workings: Workings, setting: ChainSetting
) -> MeasuredThrow:
    """Return a throw measured from its draws, instants placed by hand taken as they are."""
    kept, set_up = planned.kept, workings.set_up
    members = tuple(member for _, member in place_members(kept.members, workings.clips, workings.clocks))
    held = {change.instant: change.time_s for change in planned.instants}
    return measure_drawn((kept.number, members, kept.seed), drawn, workings.clips, set_up, setting, held)
