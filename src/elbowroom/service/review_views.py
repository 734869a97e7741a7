"""Use case: what the page of a review shows, from workings and corrections."""

from __future__ import annotations

import numpy as np

from elbowroom.core.cameras.project import project_points
from elbowroom.core.chain.correcting import PlannedThrow
from elbowroom.core.chain.visit import place_members
from elbowroom.core.chain.workings import ThrowResult, Workings
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import MotionTrack
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import RecordError
from elbowroom.service.filming_types import ProxyEntry
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, FileKind, ScreeningEntry
from elbowroom.service.review_values import ClipView, InstantView, MemberView, ReviewView, ThrowView
from elbowroom.service.reviewing import Reviewed, ReviewTools, get_visit, open_review, see_corrections, see_review


def view_review(tools: ReviewTools, visit_id: str) -> ReviewView:
    """Return a visit as its review shows it; raises what `see_review` raises."""
    reviewed = see_review(tools, visit_id)
    screenings = tools.record.entries.find_entries(ScreeningEntry, visit_id=visit_id)
    newest = screenings[-1]
    planned = {throw.kept.number: throw for throw in reviewed.measured.planned}
    results = reviewed.measured.results
    measured = {result.number for result in results}
    known = {throw.number for throw in reviewed.workings.throws}
    return ReviewView(
        visit_id=visit_id,
        athlete_id=reviewed.visit.athlete_id,
        clips=list_clips(tools.record, reviewed),
        throws=tuple(view_throw(result, planned[result.number], reviewed) for result in results),
        left_out=tuple(sorted(known - set(planned))),
        failed=tuple(
            (throw.kept.number, find_reason(throw)) for throw in planned.values() if throw.kept.number not in measured
        ),
        report=reviewed.measured.report,
        verdicts={
            finding.definition.key: str(name_verdict(finding.verdict)) for finding in reviewed.measured.report.findings
        },
        corrections=see_corrections(tools.record, visit_id),
        version=reviewed.version,
        screening_version=newest.version,
        is_current=newest.corrections_version == reviewed.version,
        change=reviewed.change,
    )


def find_reason(throw: PlannedThrow) -> str:
    """Return why a throw is not measured."""
    result = throw.kept.result
    return result.reason if isinstance(result, Absent) else "It could not be measured with these corrections."


def list_clips(record: RecordTools, reviewed: Reviewed) -> tuple[ClipView, ...]:
    """Return the clips of a visit and whether each has a proxy."""
    cards = reviewed.workings.report.set_up.clips
    return tuple(
        ClipView(
            number=number,
            name=card.name,
            view=str(clip.view),
            size_px=(clip.camera.lens.width_px, clip.camera.lens.height_px),
            rate_hz=clip.times.rate_hz,
            has_proxy=bool(find_proxies(record, reviewed.visit.id, card.name)),
        )
        for number, (clip, card) in enumerate(zip(reviewed.workings.clips, cards, strict=True))
    )


def find_proxies(record: RecordTools, visit_id: str, name: str) -> tuple[ProxyEntry, ...]:
    """Return the proxies of a clip by the name of its file, none or one."""
    clips = record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.CLIP))
    ids = {file.id for file in clips if file.name == name}
    found = record.entries.find_entries(ProxyEntry, visit_id=visit_id)
    return tuple(proxy for proxy in found if proxy.clip_file_entry_id in ids)[-1:]


def get_proxy_file(tools: ReviewTools, visit_id: str, clip: int, kind: FileKind) -> FileEntry:
    """Return the file of a clip's proxy, or of its picture times; raises `RecordError` where there is none."""
    cards = open_review(tools, get_visit(tools.record, visit_id)).workings.report.set_up.clips
    found = find_proxies(tools.record, visit_id, cards[clip].name) if 0 <= clip < len(cards) else ()
    if not found:
        raise RecordError("This clip has no proxy yet: let the workers run (`elbowroom record work`), then look again.")
    wanted = found[0].proxy_file_entry_id if kind is FileKind.PROXY else found[0].times_file_entry_id
    return tools.record.entries.find_entries(FileEntry, id=wanted)[0]


def view_throw(result: ThrowResult, planned: PlannedThrow, reviewed: Reviewed) -> ThrowView:
    """Return one throw with its joints in every picture."""
    cards = {card.number: card for card in reviewed.measured.report.throws}
    held = {change.instant for change in planned.instants}
    return ThrowView(
        number=result.number,
        instants=tuple(
            InstantView(name=str(name), time=time, is_by_hand=name in held)
            for name, time in result.instants.times.items()
        ),
        members=view_members(result.motion, planned, reviewed.workings),
        motion=result.motion,
        notes=cards[result.number].notes,
    )


def view_members(motion: MotionTrack, planned: PlannedThrow, workings: Workings) -> tuple[MemberView, ...]:
    """Return the joints of a throw in every picture of each clip that shows it.

    Between the samples of the motion, 240 a second, places are taken on a straight line: at most about half a pixel off
    at the fastest moment.
    """
    views = []
    for view, member in place_members(planned.kept.members, workings.clips, workings.clocks):
        times = workings.clips[member.clip].times.times_s + view.offset_s
        inside = np.flatnonzero((times >= motion.times_s[0]) & (times <= motion.times_s[-1]))
        flat = motion.joints_m.reshape(len(motion.times_s), -1)
        places = np.stack([np.interp(times[inside], motion.times_s, column) for column in flat.T], axis=1)
        pixels = project_points(view.camera, places.reshape(-1, 3)).reshape(len(inside), JOINTS, 2)
        placed = tuple(
            (change.picture, int(change.joint)) for change in planned.landmarks if change.clip == member.clip
        )
        views.append(
            MemberView(
                clip=member.clip,
                first_picture=int(inside[0]) if len(inside) else 0,
                times_s=times[inside],
                joints_px=pixels,
                placed=placed,
            )
        )
    return tuple(views)
