"""Use cases: a visit that is filmed here: it begins, clips are described, and its screening is asked for."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite

from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConsentError, RecordError, VisitError
from elbowroom.service.asking_jobs import JobWish, add_job
from elbowroom.service.athletes import list_holding_consents
from elbowroom.service.filming_types import FilmedClipEntry, ProxyEntry, SetUpEntry, Shows
from elbowroom.service.filming_values import VisitText
from elbowroom.service.holds import check_not_held
from elbowroom.service.job_types import Job, JobKind
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import ADULT_YEARS, RecordTools, compute_age_years, get_athlete, note_act
from elbowroom.service.record_types import Act, AthleteVersion, FileEntry, Purpose, VisitEntry
from elbowroom.service.record_values import Stamp
from elbowroom.service.visit_plan import BoardSize

HEIGHTS_M, TARGETS_M, TAPES_M, MASSES_KG = (0.9, 2.4), (3.0, 120.0), (0.5, 30.0), (12.0, 200.0)
"""Sizes that are believed."""
THROWING = "throwing tests"
"""What a warning sign of the intake stops here."""
RATES_HZ = (1.0, 2000.0)
"""Capture rates that are believed, pictures a second."""


@dataclass(frozen=True, kw_only=True)
class GroundFacts:
    """What a person says of the ground and the athlete of a visit."""

    target_m: float
    """From the front of the pitcher's plate to the target, metres."""
    board_size: BoardSize
    """Which board the board clips show."""
    tape_m: float
    """Length of a tape laid towards the target, metres; 0 for none."""
    mass_kg: float | Absent
    """Body mass, kilograms, or absent."""


@dataclass(frozen=True, kw_only=True)
class ClipFacts:
    """What a person says of a clip."""

    shows: Shows
    """What the clip shows."""
    view: View
    """Where the camera stood."""
    rate_hz: float | Absent
    """Capture rate as stated, or absent where the file is believed."""
    thrower: Side | Absent
    """Side of the picture on which the athlete stands where two throw, or absent."""
    marks: str = "{}"
    """Ground marks as JSON: the pixel of each name."""
    is_used: bool = True
    """Whether the screening takes the clip in."""


@dataclass(frozen=True, kw_only=True)
class FilmedClip:
    """A clip with what holds of it now."""

    file: FileEntry
    """Its file."""
    known: FilmedClipEntry
    """The newest version of what is known of it."""


@dataclass(frozen=True, kw_only=True)
class FilmedVisit:
    """A visit that is filmed here, as it stands."""

    visit: VisitEntry
    """The visit."""
    athlete: AthleteVersion
    """The athlete in the newest version."""
    ground: SetUpEntry
    """The newest version of what is known of the ground."""
    clips: tuple[FilmedClip, ...]
    """Its clips in the order in which they came."""

    @property
    def version(self) -> int:
        """The last version of what is known of its clips; 0 for none."""
        return max((clip.known.version for clip in self.clips), default=0)

    @property
    def used(self) -> tuple[FilmedClip, ...]:
        """The clips that the screening takes in."""
        return tuple(clip for clip in self.clips if clip.known.is_used)


def begin_visit(
    tools: RecordTools, athlete_id: str, height_m: float, kind: ThrowKind, ground: GroundFacts, stamp: Stamp
) -> str:
    """Begin a visit of today that is filmed here and return its id.

    Raises `ConsentError` without a consent for care, `HoldError` where a warning sign stops throwing, and `VisitError`
    for sizes that cannot be.
    """
    check_filming_consent(tools, athlete_id, stamp.at.date())
    check_not_held(tools, athlete_id, THROWING, stamp.at.date())
    check_sizes(height_m, ground)
    visit_id = tools.make_id()
    visit = VisitEntry(
        id=visit_id,
        athlete_id=athlete_id,
        made_on=stamp.at.date(),
        height_m=height_m,
        kind=str(kind),
        # Its clips are still to come: it is known by its own name instead.
        clips_digest=hashlib.sha256(f"filmed {visit_id}".encode()).hexdigest(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    act = note_act(tools, stamp, Act.ADDED, athlete_id, f"visit {visit_id}")
    tools.entries.add_entries([visit, _build_ground(tools, visit, ground, 1, stamp), act])
    return visit_id


def change_ground(tools: RecordTools, visit_id: str, ground: GroundFacts, known_version: int, stamp: Stamp) -> None:
    """Add a version of what is known of the ground; raises `ConflictError` where somebody else did since."""
    filmed = get_filmed_visit(tools, visit_id)
    check_sizes(filmed.visit.height_m, ground)
    entry = _build_ground(tools, filmed.visit, ground, known_version + 1, stamp)
    act = note_act(tools, stamp, Act.CORRECTED, entry.athlete_id, f"visit {visit_id}, ground {entry.version}")
    tools.entries.add_entries([entry, act])


def change_clip(
    tools: RecordTools, visit_id: str, file_entry_id: str, facts: ClipFacts, known_version: int, stamp: Stamp
) -> None:
    """Add a version of what is known of a clip, on top of the last version of the visit's clips that was seen.

    Raises `ConflictError` where somebody else changed a clip of the visit since.
    """
    filmed = get_filmed_visit(tools, visit_id)
    if not isinstance(facts.rate_hz, Absent) and not RATES_HZ[0] <= facts.rate_hz <= RATES_HZ[1]:
        raise VisitError(f"A rate of {facts.rate_hz:g} pictures a second cannot be: give what the phone was set to.")
    if file_entry_id not in {clip.file.id for clip in filmed.clips}:
        raise RecordError("This clip is not one of the visit: load the page again.")
    entry = FilmedClipEntry(
        id=tools.make_id(),
        athlete_id=filmed.visit.athlete_id,
        visit_id=visit_id,
        file_entry_id=file_entry_id,
        version=known_version + 1,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(facts),
    )
    act = note_act(tools, stamp, Act.CORRECTED, entry.athlete_id, f"visit {visit_id}, clips {entry.version}")
    tools.entries.add_entries([entry, act])


def get_filmed_visit(tools: RecordTools, visit_id: str) -> FilmedVisit:
    """Return a visit that is filmed here; raises `RecordError` where there is none of that id."""
    grounds = tools.entries.find_entries(SetUpEntry, visit_id=visit_id)
    visits = tools.entries.find_entries(VisitEntry, id=visit_id)
    if not visits or not grounds:
        raise RecordError("This visit was not begun here: begin a new one on the athlete's page.")
    files = {file.id: file for file in tools.entries.find_entries(FileEntry, visit_id=visit_id)}
    newest = {item.file_entry_id: item for item in tools.entries.find_entries(FilmedClipEntry, visit_id=visit_id)}
    return FilmedVisit(
        visit=visits[0],
        athlete=get_athlete(tools, visits[0].athlete_id),
        ground=grounds[-1],
        clips=tuple(FilmedClip(file=files[name], known=item) for name, item in newest.items()),
    )


def begin_screening(tools: RecordTools, visit_id: str, stamp: Stamp) -> Job:
    """Ask for the screening of a visit, as its clips are described now.

    Raises `VisitError` where the clips cannot be screened as they are described, `ConsentError` without consent.
    """
    filmed = get_filmed_visit(tools, visit_id)
    check_filming_consent(tools, filmed.visit.athlete_id, stamp.at.date())
    check_not_held(tools, filmed.visit.athlete_id, THROWING, filmed.visit.made_on)
    check_clips(filmed)
    inputs = (repr(describe_visit(filmed)), *(clip.file.digest for clip in filmed.used))
    size = sum(clip.file.size_bytes for clip in filmed.used)
    wish = JobWish(kind=JobKind.SCREEN, visit=filmed.visit, subject_id="", inputs=inputs, work_bytes=size)
    return add_job(tools, wish, stamp)


def check_clips(filmed: FilmedVisit) -> None:
    """Raise `VisitError`, one sentence for all, where the clips cannot be screened as they are described."""
    throws = [clip for clip in filmed.used if clip.known.shows is Shows.THROWS]
    boards = {clip.known.view for clip in filmed.used if clip.known.shows is Shows.BOARD}
    problems = [] if throws else ["there is no clip of throws: add one from each phone"]
    problems += [
        f"{len(same)} clips are said to show the {view} view: leave all but one out, or correct the view"
        for view in View
        if len(same := [clip for clip in throws if clip.known.view is view]) > 1
    ]
    tied = [clip for clip in throws if clip.known.view in boards or json.loads(clip.known.marks)]
    if len(throws) == 1 and not tied:
        problems.append(
            "one phone alone needs its place: film the board where the athlete stood, or add a second phone"
        )
    if tied and len(tied) < len(throws):
        names = ", ".join(clip.file.name for clip in throws if clip not in tied)
        problems.append(f"{names} has neither board nor marks while others have: add its board clip, or leave it out")
    if problems:
        raise VisitError(f"The visit cannot be screened yet: {'; '.join(problems)}.")


def check_filming_consent(tools: RecordTools, athlete_id: str, on: date) -> None:
    """Raise `ConsentError` where nobody consented to care, saying whose consent is missing."""
    athlete = get_athlete(tools, athlete_id)
    if list_holding_consents(tools, athlete_id, Purpose.CARE):
        return
    age = compute_age_years(athlete.born_on, on)
    who = "a guardian's consent" if age < ADULT_YEARS else "the athlete's consent"
    raise ConsentError(
        f"The athlete is {age}, and {who} for care does not hold: record who gave it and on which day (athlete's page, "
        f"or `elbowroom record consent {athlete_id}`), then film."
    )


def read_size_value(text: str, what: str) -> float:
    """Return the number that somebody typed, with a point or a comma; raises `VisitError`."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError as e:
        raise VisitError(f"The {what} is {text!r}: give a number.") from e
    if not isfinite(value):
        raise VisitError(f"The {what} is {text!r}: give a number.")
    return value


def check_sizes(height_m: float, ground: GroundFacts) -> None:
    """Raise `VisitError`, naming every size that cannot be."""
    problems = [
        f"{words} of {value:g} {unit} cannot be: give {low:g} to {high:g}"
        for words, value, unit, (low, high), may_lack in (
            ("a height", height_m, "m", HEIGHTS_M, False),
            ("a distance to the target", ground.target_m, "m", TARGETS_M, False),
            ("a tape", ground.tape_m, "m", TAPES_M, ground.tape_m == 0),
            ("a body mass", ground.mass_kg, "kg", MASSES_KG, False),
        )
        if not isinstance(value, Absent) and not may_lack and not low <= value <= high
    ]
    if problems:
        raise VisitError(f"The visit was not changed: {'; '.join(problems)}.")


def find_proxies(tools: RecordTools, visit_id: str) -> Mapping[str, ProxyEntry]:
    """Return the proxy of each clip of a visit that has one, by the entry of the clip's file."""
    proxies: Sequence[ProxyEntry] = tools.entries.find_entries(ProxyEntry, visit_id=visit_id)
    return {proxy.clip_file_entry_id: proxy for proxy in proxies}


def _build_ground(tools: RecordTools, visit: VisitEntry, ground: GroundFacts, version: int, stamp: Stamp) -> SetUpEntry:
    return SetUpEntry(
        id=tools.make_id(),
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        version=version,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(ground),
    )


def describe_visit(filmed: FilmedVisit) -> VisitText:
    """Return what the visit file of a filmed visit says."""
    ground, athlete = filmed.ground, filmed.athlete
    mass = {} if isinstance(ground.mass_kg, Absent) else {"mass_kg": ground.mass_kg}
    tape = {"tape_m": ground.tape_m} if ground.tape_m else {}
    boards = {clip.known.view: clip.file.name for clip in filmed.used if clip.known.shows is Shows.BOARD}
    return VisitText(
        made_on=filmed.visit.made_on,
        athlete={
            "name": athlete.name,
            "born_on": athlete.born_on,
            "height_m": filmed.visit.height_m,
            "hand": athlete.hand,
            "kind": filmed.visit.kind,
            **mass,
        },
        ground={"target_m": ground.target_m, "board_size": ground.board_size, **tape},
        clips=[
            (_describe_clip(clip, boards), json.loads(clip.known.marks))
            for clip in filmed.used
            if clip.known.shows is Shows.THROWS
        ],
    )


def _describe_clip(clip: FilmedClip, boards: Mapping[View, str]) -> Mapping[str, object]:
    known = clip.known
    optional = {"board": boards.get(known.view, ABSENT), "rate_hz": known.rate_hz, "thrower": known.thrower}
    given = {name: value for name, value in optional.items() if not isinstance(value, Absent)}
    return {"file": clip.file.name, "view": known.view, **given}
