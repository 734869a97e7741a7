"""`elbowroom record correct`."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools

if TYPE_CHECKING:
    from elbowroom.service.record_types import CorrectionKind


@click.command("correct", epilog='Example:  elbowroom record correct VISIT --throw 2 --drop --reason "no throw"')
@click.argument("visit_id", metavar="VISIT")
@click.option("--throw", "number", type=int, required=True, help="Number of the throw.")
@click.option("--instant", "instant", help="Instant to move, such as `release`; with --at, or --found to take it back.")
@click.option("--at", "time_s", type=float, help="When the instant is, seconds on the visit's clock.")
@click.option("--drop", is_flag=True, help="Leave the throw out.")
@click.option("--join", "other", type=int, help="Number of a throw that is the same one, seen by another clip.")
@click.option("--split", is_flag=True, help="Make a throw of each clip that shows it.")
@click.option("--found", is_flag=True, help="Put the throw, or the instant, back as the screening found it.")
@click.option("--reason", default="", help="Why.")
@add_person_option
def add_correction(visit_id: str, person: str, **said: object) -> None:
    """Put right an instant or a throw of a kept visit, and keep the screening that comes of it.

    What was found stays beside it. Joints are put right on the page of the review (`elbowroom open`), where the picture
    is seen.
    """
    from elbowroom import bootstrap_review
    from elbowroom.service import reviewing
    from elbowroom.service.correction_values import CorrectionAsked

    kind, after = read_wish(said)
    tools = open_tools()
    review, stamp = bootstrap_review.build_review_tools(tools), make_stamp(tools, person)
    number, reason = int(str(said["number"])), str(said["reason"])
    asked = CorrectionAsked(kind=kind, throw_number=number, what=kind, after=after, reason=reason)
    known = len(reviewing.list_corrections(tools, visit_id))
    entry, _ = reviewing.add_checked_correction(review, visit_id, asked, known, stamp)
    kept, change = reviewing.keep_current(review, visit_id, stamp)
    click.echo(f"Correction {entry.version} is kept, screening {kept.version} takes it in.")
    for item in change.measures:
        if item.headline or item.is_verdict_changed:
            click.echo(f"{item.words}: {item.words_before} -> {item.words_after} ({item.verdict_after})")


def read_wish(said: dict[str, object]) -> tuple[CorrectionKind, str]:
    """Return what is to be corrected and what is to hold; raises `CorrectionError` where the options do not say it."""
    from elbowroom.errors import CorrectionError
    from elbowroom.service.record_types import CorrectionKind

    if said["instant"]:
        if (said["time_s"] is None) is not bool(said["found"]):
            raise CorrectionError("Say when the instant is with --at, or --found to take it back.")
        place = {"as": "found"} if said["found"] else {"time_s": said["time_s"]}
        return CorrectionKind.INSTANT, json.dumps({"instant": said["instant"], **place})
    wishes = {"dropped": said["drop"], "split": said["split"], "joined": said["other"], "found": said["found"]}
    chosen = [word for word, is_wished in wishes.items() if is_wished]
    if len(chosen) != 1:
        raise CorrectionError("Say one thing: --instant with --at, --drop, --join, --split or --found.")
    other = {"other": said["other"]} if said["other"] else {}
    return CorrectionKind.THROW, json.dumps({"as": chosen[0], **other})
