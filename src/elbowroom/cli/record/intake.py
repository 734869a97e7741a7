"""`elbowroom record intake`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools
from elbowroom.cli.record.plan_files import read_today, show_result, write_form


@click.command("intake", epilog="Example:  elbowroom record intake 4f1c... intake.toml")
@click.argument("athlete_id")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--form", type=click.Path(path_type=Path), help="Write an empty intake with every question to this file.")
@click.option("--json", "is_json", is_flag=True, help="Print JSON.")
@add_person_option
def take_intake(athlete_id: str, file: Path | None, form: Path | None, is_json: bool, person: str) -> None:
    """Take an intake into the record, or show what holds.

    FILE is TOML or JSON (docs/intake.md). A warning sign stops throwing tests, drills and plans until a clinician
    releases it with `elbowroom record release`; a question that was not asked stops as a yes does.
    """
    from elbowroom import bootstrap_plan
    from elbowroom.service import holds, intake, plan_forms, plan_words

    tables = bootstrap_plan.build_plan_tables()
    if form:
        write_form(form, plan_forms.write_intake_form(tables.signs, read_today()))
        return
    plain = bootstrap_plan.read_plain_file(file) if file else None
    tools = open_tools()
    stamp = make_stamp(tools, person)
    if plain is not None:
        intake.keep_intake(tools, tables, athlete_id, plain, stamp)
    else:
        holds.note_look(tools, athlete_id, "intake", stamp)
    standing = holds.find_standing(tools, athlete_id, stamp.at.date(), tables.signs)
    growth = intake.view_growth(tools, tables, athlete_id, stamp.at.date())
    lines = (*plan_words.list_standing_lines(standing), *plan_words.list_growth_lines(growth), *plan_words.CAUTIONS)
    values = {
        **plan_words.describe_standing(standing),
        "growth": plan_words.describe_growth(growth),
        "cautions": plan_words.CAUTIONS,
    }
    show_result(lines, values, is_json)
