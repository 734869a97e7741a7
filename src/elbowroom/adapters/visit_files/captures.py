"""Reading a capture file: which labels of a recording are which joint, and how the recording lies."""

from __future__ import annotations

from pathlib import Path

from elbowroom.adapters.visit_files.athlete import read_athlete
from elbowroom.adapters.visit_files.clips import find_file
from elbowroom.adapters.visit_files.reading import read_tables
from elbowroom.adapters.visit_files.sections import Section, normalise_word, show_value
from elbowroom.core.landmarks.names import Joint
from elbowroom.errors import VisitError
from elbowroom.service.capture_types import Axis, CapturePlan, StandIn

MARKER_LIMITS_MM = (0.05, 50.0)
JOINT_LIMITS_MM = (0.5, 100.0)
DOWN_LIMITS_CM = (-30.0, 30.0)


def read_capture(path: Path) -> CapturePlan:
    """Return what a capture file describes; raises one `VisitError` that names everything missing or wrong."""
    try:
        tables = read_tables(path.read_text(encoding="utf-8-sig"), path.name)
    except (OSError, UnicodeDecodeError) as e:
        raise VisitError(f"{path} cannot be read: name a capture file as docs/captures.md shows.") from e
    problems: list[str] = []
    top = Section("the file", tables, problems)
    plan = _build_plan(top, path.parent, problems)
    top.check_keys()
    if problems or plan is None:
        raise VisitError(f"{path.name} cannot be used: {'; '.join(problems)}.")
    return plan


def _build_plan(top: Section, folder: Path, problems: list[str]) -> CapturePlan | None:
    made_on = top.find_date("made_on")
    if not top.has_key("made_on"):
        top.add_problem("has no day of the recording: add made_on = 2026-05-16 as its first line")
    tolerances = find_file(top, "tolerances", folder)
    athlete = read_athlete(_open_section(top, "athlete", problems), made_on)
    recording = _open_section(top, "recording", problems)
    files = _find_files(recording, folder)
    target = recording.find_word("target", Axis, {}, '"+x", the direction to the target in the files')
    up = recording.find_word("up", Axis, {}, '"+z", upwards in the files')
    marker = _find_needed(recording, "marker_standard_mm", MARKER_LIMITS_MM, "1.0")
    joint = _find_needed(recording, "joint_standard_mm", JOINT_LIMITS_MM, "10.0")
    aim = _find_needed(recording, "target_standard_deg", (0.0, 20.0), "1.0")
    recording.check_keys()
    stand_ins = _find_stand_ins(_open_section(top, "stand_ins", problems))
    markers = _find_markers(_open_section(top, "joints", problems), set(stand_ins))
    if target and up and target[1] == up[1]:
        recording.add_problem("has target and up along the same axis: they are at right angles")
    if problems or athlete is None or made_on is None or target is None or up is None:
        return None
    return CapturePlan(
        athlete=athlete,
        made_on=made_on,
        files=files,
        target=target,
        up=up,
        markers=markers,
        stand_ins=stand_ins,
        marker_standard_m=marker / 1000.0,
        joint_standard_m=joint / 1000.0,
        target_standard_deg=aim,
        tolerances_path=tolerances,
    )


def _open_section(top: Section, name: str, problems: list[str]) -> Section:
    table = top.find_value(name)
    return Section(f"[{name}]", {} if table is None else table, problems)


def _find_needed(section: Section, key: str, limits: tuple[float, float], example: str) -> float:
    if not section.has_key(key):
        section.add_problem(f"has no {key}: add {key} = {example}, as the laboratory states it")
    number = section.find_number(key, *limits)
    return 0.0 if number is None else number


def _find_files(section: Section, folder: Path) -> tuple[Path, ...]:
    names = section.find_value("files")
    if not isinstance(names, list) or not names or not all(isinstance(name, str) for name in names):
        section.add_problem('has no files: add files = ["throw-1.c3d"], one a throw')
        return ()
    files = tuple(folder / name for name in names)
    for file in files:
        if not file.is_file():
            section.add_problem(f"names {file.name}, which is not in the folder of the capture file")
    return files


def _find_markers(section: Section, stood_in: set[Joint]) -> dict[Joint, tuple[str, ...]]:
    markers: dict[Joint, tuple[str, ...]] = {}
    missing = []
    for joint in Joint:
        key = normalise_word(joint.name)
        labels = section.find_value(key)
        labels = [labels] if isinstance(labels, str) else labels
        if labels is None:
            missing += [] if joint in stood_in else [key]
        elif isinstance(labels, list) and labels and all(isinstance(label, str) for label in labels):
            markers[joint] = tuple(labels)
        else:
            section.add_problem(f'has {key} = {show_value(labels)}: give labels of the recording, as in ["RELB"]')
    if missing:
        section.add_problem(f"names no labels for {', '.join(missing)}: add them, or put them in [stand_ins]")
    section.check_keys()
    return markers


def _find_stand_ins(section: Section) -> dict[Joint, StandIn]:
    found: dict[Joint, StandIn] = {}
    names = {normalise_word(joint.name): joint for joint in Joint}
    for key in section.list_given(names):
        table = section.find_value(key)
        part = Section(f"[stand_ins] {key}", table, section.problems)
        below = part.find_text("below", '"right_ankle"')
        down_cm = part.find_number("down_cm", *DOWN_LIMITS_CM)
        if below is not None and normalise_word(below) not in names:
            part.add_problem(f"has below = {show_value(below)}: use one of {', '.join(names)}")
        elif below is not None:
            found[names[key]] = StandIn(joint=names[normalise_word(below)], down_m=(down_cm or 0.0) / 100.0)
    section.check_keys()
    return found
