"""`elbowroom record examine`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools
from elbowroom.cli.record.plan_files import read_today, show_result, write_form


@click.command("examine", epilog="Example:  elbowroom record examine 4f1c... exam.toml")
@click.argument("athlete_id")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--form", type=click.Path(path_type=Path), help="Write an empty exam with every item to this file.")
@click.option("--json", "is_json", is_flag=True, help="Print JSON.")
@add_person_option
def examine_athlete(athlete_id: str, file: Path | None, form: Path | None, is_json: bool, person: str) -> None:
    """Take an exam into the record, or show the last one against published limits.

    FILE is TOML or JSON (docs/exam.md). Near a limit the answer is a probability, not yes or no; limits that disagree
    are shown beside each other.
    """
    from elbowroom import bootstrap_plan
    from elbowroom.service import exams, holds, plan_forms, plan_words

    tables = bootstrap_plan.build_plan_tables()
    if form:
        write_form(form, plan_forms.write_exam_form(tables.exam, read_today()))
        return
    plain = bootstrap_plan.read_plain_file(file) if file else None
    tools = open_tools()
    stamp = make_stamp(tools, person)
    if plain is not None:
        exams.keep_exam(tools, tables, athlete_id, plain, stamp)
    else:
        holds.note_look(tools, athlete_id, "exam", stamp)
    findings = exams.judge_athlete_exam(tools, tables, athlete_id, stamp.at.date())
    values = {"findings": plan_words.describe_exam_findings(findings), "cautions": plan_words.CAUTIONS}
    show_result((*plan_words.list_exam_lines(findings), *plan_words.CAUTIONS), values, is_json)
