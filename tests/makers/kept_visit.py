"""A screened visit of an invented thrower: three known throws through two known cameras and the whole chain.

No detector and no video: the landmarks are the projected joints of `tests.makers.throws` with noise. Nothing in it was
measured on a person.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.adapters.tables.tolerances import read_tolerances
from elbowroom.adapters.workings.files import render_workings
from elbowroom.bootstrap_review import build_correcting_tools
from elbowroom.core.cameras.types import Camera, FieldSetUp, Lens, View
from elbowroom.core.chain.bearing import join_loads
from elbowroom.core.chain.judging import (
    JudgeTables,
    choose_shown_bands,
    draw_visit_curves,
    draw_visit_motions,
    judge_visit,
    list_missing,
    order_visit,
)
from elbowroom.core.chain.types import ChainSetting, ClipThrows, MeasuredVisit
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.chain.workings import Workings, build_workings
from elbowroom.core.clips.timing import mark_repeats, time_pictures
from elbowroom.core.findings.report import AthleteCard, ScreeningReport, SetUpCard, ThrowingHand
from elbowroom.core.findings.types import DecisionRule
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint, Side
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.loads.types import Sex
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.throws.types import PictureChoice, SeenThrow, ThrowWindow
from elbowroom.service.cards import build_throw_cards
from elbowroom.service.correcting import CorrectingTools
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_types import FileKind
from elbowroom.service.record_values import ParcelFile, VisitParcel
from tests.makers import throws
from tests.makers.landmark_scenes import VIEWS, Body, Eye, see_body
from tests.makers.reports import make_picture, make_report, make_set_up
from tests.makers.throws import LIFT_S, make_throw, ramp

RATE_HZ = 240.0
SLOWER = 1.5
"""The invented throw is slowed down so much: as it is, it is jerkier than a body."""
CONTACT_S, RELEASE_S = SLOWER * throws.CONTACT_S, SLOWER * throws.RELEASE_S
"""Foot contact and release of each throw after its start."""
GAP_S = 3.2
"""Time from one throw to the next."""
THROWS = 3
NOISE_TIME_S = 0.02
"""Correlation time of the landmarks' errors, as in the packaged tables."""
COUNT = int(THROWS * GAP_S * RATE_HZ)
"""Pictures of each clip."""
EYES = {View.OPEN_SIDE: VIEWS["open side"], View.FRONT: VIEWS["front"]}
NO_VIDEO = b"no video "
NAMES = ("open-side.mp4", "behind.mp4")
"""Names that the invented set-up gives its clips."""
ATHLETE = AthleteCard(
    name="Player 07",
    age_years=13.4,
    height_m=1.62,
    hand=ThrowingHand.RIGHT,
    kind=ThrowKind.MOUND_PITCH,
    sex=Sex.MALE,
    mass_kg=51.0,
)


def make_places(clip_s: np.ndarray) -> np.ndarray:
    """Return joint places (n, 19, 3) of the invented throw, slowed down, with bones of one length.

    Hips that sink into the stride, a pivot foot that is dragged, a lead foot that is lifted, knees and glove elbow
    where two bones meet.
    """
    times_s = clip_s / SLOWER
    places = make_throw(times_s)
    upper = [joint for joint in Joint if not joint.name.endswith(("KNEE", "ANKLE", "HEEL", "TOE"))]
    sink = np.stack([-0.15 * ramp(times_s, 1.2, 0.2), 0 * times_s, -0.18 * ramp(times_s, 1.15, 0.15)], axis=1)
    places[:, upper] += sink[:, None]
    for part in ("ANKLE", "HEEL", "TOE"):
        places[:, Joint[f"RIGHT_{part}"], 0] += 0.4 * ramp(times_s, 1.33, 0.1)
        places[:, Joint[f"LEFT_{part}"], 2] += 0.4 * np.exp(-(((times_s - LIFT_S) / 0.13) ** 2))
    chest = np.array([0.0, -1.0, 0.0])
    for side in ("RIGHT", "LEFT"):
        hip, ankle = places[:, Joint[f"{side}_HIP"]], places[:, Joint[f"{side}_ANKLE"]]
        places[:, Joint[f"{side}_KNEE"]] = bend_chain(hip, ankle, (0.42, 0.43), chest)
    shoulder, hand = places[:, Joint.LEFT_SHOULDER], places[:, Joint.LEFT_HAND]
    reach = hand - shoulder
    far = np.linalg.norm(reach, axis=1, keepdims=True)
    wrist = shoulder + reach * np.minimum(1.0, 0.47 / far)
    places[:, Joint.LEFT_WRIST] = wrist
    places[:, Joint.LEFT_HAND] = wrist + 0.08 * reach / far
    places[:, Joint.LEFT_ELBOW] = bend_chain(shoulder, wrist, (0.27, 0.25), np.array([0.0, 0.0, -1.0]))
    return places


def bend_chain(start: np.ndarray, end: np.ndarray, lengths_m: tuple[float, float], towards: np.ndarray) -> np.ndarray:
    """Return where two bones from `start` to `end`, (n, 3) each, meet, bent `towards` a direction (3,)."""
    along = end - start
    gap = np.linalg.norm(along, axis=1, keepdims=True)
    along = along / gap
    gap = np.minimum(gap, 0.999 * sum(lengths_m))
    near = (gap**2 + lengths_m[0] ** 2 - lengths_m[1] ** 2) / (2 * gap)
    aside = towards - np.sum(towards * along, axis=1, keepdims=True) * along
    aside = aside / np.linalg.norm(aside, axis=1, keepdims=True)
    return np.asarray(start + near * along + np.sqrt(np.maximum(lengths_m[0] ** 2 - near**2, 0.0)) * aside)


def make_body(times_s: np.ndarray) -> Body:
    """Return the joints of the invented throw under the names of landmarks."""
    places = make_places(times_s)
    return {joint.name.lower(): places[:, joint] for joint in Joint}


def make_camera(name: str, eye: Eye) -> Camera:
    lens = Lens(width_px=1280, height_px=720, focal_px=eye.focal_px, centre_px=(639.5, 359.5))
    axes = eye.axes()
    spread = np.diag([4.0, 1, 1, 1e-5, 1e-5, 1e-8, 1e-8, *[1e-6] * 3, *[2.5e-5] * 3])
    return Camera(
        name=name,
        lens=lens,
        rotation=axes,
        translation=-axes @ np.array(eye.place),
        covariance=spread,
        residual_px=0.2,
    )


def see_throw(number: int, eye: Eye, seed: int) -> SeenThrow:
    start = number * GAP_S
    times = np.arange(COUNT) / RATE_HZ
    window = ThrowWindow(
        start_s=start + 0.5,
        contact_guess_s=start + CONTACT_S,
        release_guess_s=start + RELEASE_S,
        end_s=start + 3.05,
        side=Side.RIGHT,
    )
    inside = np.flatnonzero((times >= window.start_s) & (times <= window.end_s))
    is_dense = (times[inside] >= start + CONTACT_S - 0.15) & (times[inside] <= start + RELEASE_S + 0.15)
    sparse = inside[~is_dense][::10]
    choice = PictureChoice(dense=inside[is_dense], sparse=sparse, window_count=len(inside))
    clear = see_body(make_body(times[choice.pictures] - start), eye)
    wander = make_wander(times[choice.pictures], np.random.default_rng([seed, number]))
    return SeenThrow(window=window, choice=choice, landmarks=replace(clear, pixels=clear.pixels + wander))


def make_wander(times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return errors (n, 33, 2) of 2 px that wander as slowly as the tables say (Ornstein-Uhlenbeck)."""
    errors = 2.0 * rng.standard_normal((len(times_s), 33, 2))
    for row in range(1, len(times_s)):
        likeness = np.exp(-(times_s[row] - times_s[row - 1]) / NOISE_TIME_S)
        errors[row] = likeness * errors[row - 1] + np.sqrt(1.0 - likeness**2) * errors[row]
    return np.asarray(errors)


def make_clip(view: View, seed: int, numbers: tuple[int, ...]) -> ClipThrows:
    return ClipThrows(
        camera=make_camera(view.value, EYES[view]),
        view=view,
        times=mark_repeats(time_pictures(np.arange(COUNT) / RATE_HZ), np.zeros(COUNT, dtype=bool)),
        throws=tuple(see_throw(number, EYES[view], seed) for number in numbers),
        sound=Absent(reason="The invented clip has no sound."),
    )


def make_setting(draws: int) -> ChainSetting:
    tables = build_provisional_tables()
    coefficients = np.tile([2.0 * np.log(0.009), 0.0, 0.0, 0.0, 0.0, 0.0], (10, 2, 1))
    noise = replace(
        tables.noise, coefficients=coefficients, standing_share=np.full(10, 0.02), noise_time_s=NOISE_TIME_S
    )
    return ChainSetting(
        athlete=ATHLETE,
        tables=replace(tables, noise=noise),
        priors=build_priors(read_bone_shares(), ATHLETE.height_m, 0.0),
        target_m=(18.0, 0.0, 0.7),
        load_tables=read_load_tables(),
        draws=draws,
    )


@cache
def screen_invented(draws: int = 40) -> tuple[MeasuredVisit, Workings]:
    """Return the measured visit and its workings; made once a process."""
    clips = tuple(make_clip(view, seed, tuple(range(THROWS))) for view, seed in ((View.OPEN_SIDE, 1), (View.FRONT, 2)))
    set_up = FieldSetUp(
        cameras=tuple(clip.camera for clip in clips),
        scale_standard=0.002,
        target_standard_rad=0.01,
        upright_standard_rad=0.005,
    )
    setting = make_setting(draws)
    visit = measure_visit(clips, set_up, setting, np.random.default_rng(3), lambda done, total: None)
    return visit, build_workings(clips, set_up, setting, visit, make_invented_report(visit))


def make_invented_report(visit: MeasuredVisit) -> ScreeningReport:
    tables, loads = make_judge_tables(), read_load_tables()
    findings = judge_visit(visit, ATHLETE, tables)
    return make_report(
        athlete=ATHLETE,
        set_up=make_clip_cards(),
        throws=build_throw_cards(visit, NAMES),
        findings=findings,
        priorities=order_visit(findings),
        curves=draw_visit_curves(visit),
        motions=draw_visit_motions(visit, ATHLETE.hand),
        pictures=tuple(make_picture(name, 1) for name in (InstantName.FOOT_CONTACT, InstantName.RELEASE)),
        missing=list_missing(visit),
        bands=choose_shown_bands(tables.bands, ATHLETE.age_years),
        rule=tables.rule,
        loads=join_loads(visit.throws, ATHLETE, loads),
    )


def make_clip_cards() -> SetUpCard:
    """Return the invented set-up with the digests of the files that `make_kept_parcel` writes."""
    card = make_set_up()
    names = [NO_VIDEO + clip.name.encode() for clip in card.clips]
    clips = tuple(
        replace(clip, digest=hashlib.sha256(name).hexdigest()) for clip, name in zip(card.clips, names, strict=True)
    )
    return replace(card, clips=clips)


def make_judge_tables() -> JudgeTables:
    units = {measure.key: measure.unit for measure in MEASURES}
    return JudgeTables(tolerances=read_tolerances(None, units), bands=read_published_bands(), rule=DecisionRule())


def make_tools() -> CorrectingTools:
    return build_correcting_tools(make_judge_tables())


def make_kept_parcel(folder: Path) -> VisitParcel:
    """Write a screened visit's files to a folder and return them as a parcel; the clips are none."""
    from elbowroom.adapters.report.json_file import render_report_json
    from elbowroom.adapters.report.kept import read_kept_report

    _, workings = screen_invented()
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "visit.toml").write_text("# invented", encoding="utf-8")
    (folder / "report.json").write_text(render_report_json(workings.report), encoding="utf-8")
    (folder / "workings.npz").write_bytes(render_workings(workings))
    files = []
    for name, view in zip(NAMES, (View.OPEN_SIDE, View.FRONT), strict=True):
        (folder / name).write_bytes(NO_VIDEO + name.encode())
        files.append(ParcelFile(path=folder / name, kind=FileKind.CLIP, view=view))
    others = {"visit.toml": FileKind.VISIT_FILE, "report.json": FileKind.REPORT, "workings.npz": FileKind.WORKINGS}
    files += [ParcelFile(path=folder / name, kind=kind, view=ABSENT) for name, kind in others.items()]
    return VisitParcel(
        made_on=workings.report.made_on,
        height_m=ATHLETE.height_m,
        kind=str(ATHLETE.kind),
        files=tuple(files),
        report=read_kept_report(folder / "report.json"),
    )
