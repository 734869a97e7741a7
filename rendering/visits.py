"""One rendered visit: an athlete, throws one after another, phones with clip and board clip, and the truth."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from rendering.board import DICTIONARY, MARKER_M, SQUARE_M, SQUARES, lay_board, list_held_poses, render_board
from rendering.cameras import Phone, find_picture_times
from rendering.clips import Recording, choose_times, find_stamps, render_pictures, write_clip
from rendering.clothes import Look, dress_body
from rendering.delivery import Delivery
from rendering.motion import Motion, find_arrival
from rendering.picture import Actor, Studio
from rendering.rotations import Array
from rendering.scene import Place, lay_flat, prepare_still, render_background
from rendering.sound import find_pop_times, record_sound
from rendering.truth import (
    describe_phone,
    describe_throw,
    find_ball_speed,
    find_joints,
    find_marks,
    write_truth,
)

BOARD_FPS = 30.0
BOARD_REPEATS = 2
BOARD_REST = 10
FLAT_CORNER_M = (0.2, 0.3)


@dataclass(frozen=True, kw_only=True)
class Visit:
    """Everything that decides a rendered visit."""

    name: str
    """Folder name."""
    look: Look
    """Clothes and colours of the thrower."""
    motions: tuple[tuple[Motion, str], ...]
    """What happens one after another: a motion and its kind ('throw', 'walk', ...)."""
    deliveries: tuple[Delivery | None, ...]
    """Numbers behind each throw, None for other motions."""
    phones: tuple[Phone, ...]
    """One to three phones."""
    place: Place
    """Where it happens."""
    target_m: float
    """Distance of the catcher's glove."""
    rest_pose: Array
    """(4, 4) of the board at rest in common view, in the field frame."""
    bystanders: tuple[tuple[Motion, Look], ...] = ()
    """Other people in the picture, in motion from the start."""
    truth_step: int = 1
    """Every how many milliseconds the joints are written."""
    seed: int = 0
    """Seed of noise, sound and board poses."""


def find_starts(visit: Visit) -> list[float]:
    """World time at which each motion starts: each follows the one before."""
    lengths = [float(motion.times_s[-1]) for motion, _ in visit.motions]
    return [float(x) for x in np.cumsum([0.0, *lengths[:-1]])]


def list_actors(visit: Visit) -> list[list[Actor]]:
    """For each motion of the visit, who is in the picture."""
    throwing_side = visit.motions[0][0].throwing_side
    mesh = dress_body(visit.motions[0][0].body, visit.look, throwing_side)
    others = [
        Actor(mesh=dress_body(m.body, look, "R", has_ball=False), motion=m, starts_s=0.0)
        for m, look in visit.bystanders
    ]
    starts = find_starts(visit)
    return [
        [Actor(mesh=mesh, motion=motion, starts_s=start), *others]
        for (motion, _), start in zip(visit.motions, starts, strict=True)
    ]


def write_visit_truth(visit: Visit, folder: Path, how: Recording) -> None:
    """Write truth.json and truth.npz of a visit, the same whether or not its clips are rendered yet."""
    starts = find_starts(visit)
    arrays: dict[str, Array] = {}
    phones = {}
    for phone in visit.phones:
        files = {"clip": f"{phone.name}.mp4", "board": f"board-{phone.name}.mp4"}
        arrays[f"times_{phone.name}"] = find_times(visit, phone, how)
        arrays[f"board_poses_{phone.name}"] = _list_board_poses(list_board_stays(visit, phone))
        phones[phone.name] = describe_phone(phone, files, len(arrays[f"times_{phone.name}"]))
    for k, (motion, _) in enumerate(visit.motions):
        kept = slice(None, None, visit.truth_step)
        arrays[f"joints_{k}"] = find_joints(motion)[kept].astype(np.float32)
        arrays[f"joint_times_{k}"] = motion.times_s[kept] + starts[k]
    write_truth(folder, {**_describe(visit), "recording": asdict(how), "phones": phones}, arrays)


def find_times(visit: Visit, phone: Phone, how: Recording) -> Array:
    """World times (N,) of the first rows of a phone's pictures, from its start to just after the last pop."""
    starts = find_starts(visit)
    arrivals = [t + 0.15 for t in _find_arrivals(visit, starts) if t is not None]
    end = max([starts[-1] + float(visit.motions[-1][0].times_s[-1]), *arrivals])
    count = int((end - phone.start_s) * phone.fps)
    return choose_times(phone, count, how, np.random.default_rng([visit.seed, 1, len(phone.name)]))


def _find_arrivals(visit: Visit, starts: list[float]) -> list[float | None]:
    return [
        start + find_arrival(motion, visit.target_m) if motion.instants_s else None
        for (motion, _), start in zip(visit.motions, starts, strict=True)
    ]


def render_clip(visit: Visit, phone: Phone, folder: Path, how: Recording) -> None:
    """Render a phone's clip with its sound."""
    times = find_times(visit, phone, how)
    still = (render_background(phone, visit.place), times)
    pictures = _render_all(visit, phone, still, how, Studio(phone.width, phone.height))
    sound = _record(visit, phone, times) if how.has_sound else None
    write_clip(folder / f"{phone.name}.mp4", pictures, find_stamps(times, phone, how), how, sound)


def _render_all(
    visit: Visit, phone: Phone, still: tuple[Array, Array], how: Recording, studio: Studio
) -> Iterator[Array]:
    background, times = still
    ends = [*find_starts(visit)[1:], np.inf]
    begin = -np.inf
    for actors, end in zip(list_actors(visit), ends, strict=True):
        part = times[(times >= begin) & (times < end)]
        yield from render_pictures(studio, phone, (background, actors), part, how)
        begin = end


def _record(visit: Visit, phone: Phone, times: Array) -> Array:
    arrivals = [t for t in _find_arrivals(visit, find_starts(visit)) if t is not None]
    source = np.array([visit.target_m, 0.0, 0.8])
    heard = find_pop_times(arrivals, source, phone.centre)
    clock = [(t - float(times[0])) / (1.0 + phone.drift) for t in heard]
    return record_sound(np.random.default_rng([visit.seed, 4]), float(times[-1] - times[0]), clock)


def list_board_stays(visit: Visit, phone: Phone) -> list[tuple[Array, int]]:
    """Poses of the board before a phone and for how many pictures each: held, standing at rest, flat."""
    held = list_held_poses(np.random.default_rng([visit.seed, 2, len(phone.name)]), phone, 16)
    flat = lay_board(FLAT_CORNER_M)
    return [*[(pose, BOARD_REPEATS) for pose in held], (visit.rest_pose, BOARD_REST), (flat, BOARD_REST)]


def _list_board_poses(stays: list[tuple[Array, int]]) -> Array:
    return np.concatenate([np.repeat(pose[None], times, axis=0) for pose, times in stays])


def render_board_clip(visit: Visit, phone: Phone, folder: Path, how: Recording) -> None:
    """Render a phone's board clip at 30 pictures a second, without sound."""
    stays = list_board_stays(visit, phone)
    filming = replace(phone, fps=BOARD_FPS, start_s=0.0, drift=0.0)
    times = find_picture_times(filming, sum(count for _, count in stays))
    how = Recording(quality=max(24, how.quality - 2), noise=how.noise, preset=how.preset)
    pictures = _board_pictures(visit, phone, stays, how)
    write_clip(folder / f"board-{phone.name}.mp4", pictures, find_stamps(times, filming, how), how, None)


def _board_pictures(visit: Visit, phone: Phone, stays: list[tuple[Array, int]], how: Recording) -> Iterator[Array]:
    rng = np.random.default_rng([visit.seed, 3])
    still = prepare_still(phone, visit.place)
    for pose, times in stays:
        picture = lay_flat(phone, still, render_board(pose))
        for _ in range(times):
            noise = rng.normal(0, how.noise, picture.shape[:2])[..., None]
            yield np.clip(picture + noise + 0.5, 0, 255).astype(np.uint8)


def _describe(visit: Visit) -> dict[str, object]:
    starts = find_starts(visit)
    arrivals = _find_arrivals(visit, starts)
    body = visit.motions[0][0].body
    throws = []
    for k, (motion, kind) in enumerate(visit.motions):
        said = describe_throw(motion, starts[k], arrivals[k] or 0.0, kind)
        delivery = visit.deliveries[k]
        if delivery:
            said["delivery"] = asdict(delivery)
            said["hand_speed_m_s"] = find_ball_speed(motion)
        throws.append(said)
    return {
        "name": visit.name,
        "frame": "field: x to the target, z up, y = z cross x, metres; origin mid pivot foot; never mirrored",
        "athlete": {**asdict(body.build), "throwing_side": visit.motions[0][0].throwing_side},
        "motions": throws,
        "target_m": [visit.target_m, 0.0, 0.8],
        "marks_m": find_marks(),
        "board": _describe_board(visit.rest_pose),
    }


def _describe_board(rest_pose: Array) -> dict[str, object]:
    return {
        "squares": list(SQUARES),
        "square_m": SQUARE_M,
        "marker_m": MARKER_M,
        "dictionary": DICTIONARY,
        "frame": "OpenCV: origin outer corner of the first square, x along 8, y along 6, z = x cross y into the board",
        "clip": f"16 held poses of {BOARD_REPEATS} pictures, {BOARD_REST} standing at rest, {BOARD_REST} flat",
        "rest_first_picture": 16 * BOARD_REPEATS,
        "flat_first_picture": 16 * BOARD_REPEATS + BOARD_REST,
        "T_field_board_rest": rest_pose.tolist(),
        "T_field_board_flat": lay_board(FLAT_CORNER_M).tolist(),
    }
