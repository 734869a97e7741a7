"""The report's cards on the set-up, the clips and the throws."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.types import Camera, FieldSetUp
from elbowroom.core.chain.types import MeasuredThrow, MeasuredVisit
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.report import ClipCard, SetUpCard, ThrowCard
from elbowroom.core.instants.types import Instants
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, BudgetPart, Obtained, Source, Uncertain
from elbowroom.service.ports import OpenClip
from elbowroom.service.visit_plan import ClipPlan

PlannedFile = tuple[ClipPlan, OpenClip, str]


def build_set_up_card(set_up: FieldSetUp, files: Sequence[PlannedFile], visit: MeasuredVisit) -> SetUpCard:
    """Return how the cameras were found and what is known of scale, direction and clocks."""
    target_deg = float(np.degrees(set_up.target_standard_rad))
    return SetUpCard(
        how=set_up.how,
        clips=tuple(build_clip_card(file, camera, visit) for file, camera in zip(files, set_up.cameras, strict=True)),
        scale_share=build_uncertain(0.0, "%", {Source.SCALE: 100.0 * set_up.scale_standard}),
        target_error=build_uncertain(0.0, "deg", {Source.TARGET: target_deg}),
        clock_error=describe_clocks(visit),
    )


def describe_clocks(visit: MeasuredVisit) -> Obtained:
    """Return the largest error between the clips' clocks, or why it is not known."""
    found = [clock.offset.standard_s for clock in visit.clocks if isinstance(clock, CheckedOffset)]
    if not visit.clocks:
        return Absent(reason="One clip alone has no other clock to differ from.")
    if not found:
        return Absent(reason="The clocks of the clips could not be tied together.")
    return Uncertain(value=0.0, unit="s", parts=(BudgetPart(source=Source.CLOCKS, standard=max(found)),))


def build_clip_card(file: PlannedFile, camera: Camera, visit: MeasuredVisit) -> ClipCard:
    """Return what the report says of one clip."""
    plan, source, digest = file
    changes = [
        f"Throw {throw.number}: {change.what} in pictures {change.pictures[0]} to {change.pictures[1]}. {change.why}"
        for throw in visit.throws
        for tracked in throw.tracked
        if tracked.track.camera == camera.name
        for change in tracked.track.corrections
    ]
    return ClipCard(
        name=source.clip.name,
        view=plan.view,
        rate_hz=source.times.rate_hz,
        picture_count=source.clip.picture_count,
        residual_px=Uncertain(value=camera.residual_px, unit="px", parts=()),
        digest=digest,
        notes=(*source.times.notes, *changes),
    )


def build_throw_cards(visit: MeasuredVisit, names: Sequence[str]) -> tuple[ThrowCard, ...]:
    """Return a card for every measured throw; `names` are the clips' names in the order of the plan."""
    return tuple(
        ThrowCard(
            number=throw.number,
            clips=tuple(names[tracked.clip] for tracked in throw.tracked),
            instants=Instants(times=dict(throw.instants.times)),
            notes=describe_throw(throw),
        )
        for throw in visit.throws
    )


def describe_throw(throw: MeasuredThrow) -> tuple[str, ...]:
    """Return sentences on how well the throw held together."""
    views = "one view" if throw.motion.views == 1 else f"{throw.motion.views} views"
    return (f"Built from {views}; landmarks and motion differ by {throw.motion.residual_px:.1f} px (weighted mean).",)
