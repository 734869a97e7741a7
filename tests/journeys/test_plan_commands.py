"""From the first question to drills on the command line, in the order of a visit.

Sides: what is printed and the exit status; the forms that the product writes, filled in by text; JSON against its
schema; ways to go wrong, a sentence each.
"""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stdout
from pathlib import Path

import jsonschema
import pytest

from elbowroom.cli.main import list_commands
from elbowroom.cli.running import run_commands
from tests.journeys.test_record_commands import Clinic


@pytest.fixture
def clinic(tmp_path: Path) -> Clinic:
    made = Clinic(tmp_path)
    assert made.run("begin", "--clinic", "C", "--person", "Rowan").status == 0
    return made


def run_plain(*words: str) -> str:
    """Run a command that needs no record, and return what it printed."""
    out = io.StringIO()
    with redirect_stdout(out):
        assert run_commands(list_commands, list(words)) == 0
    return out.getvalue()


def add_athlete(clinic: Clinic) -> str:
    athlete_id = clinic.run("athlete", "Player 12", "--born", "2013-02-28", "--hand", "left").out.strip()
    assert clinic.run("consent", athlete_id, "--guardian", "A. Parent", "--for", "care").status == 0
    return athlete_id


def fill_intake(clinic: Clinic, athlete_id: str, **answers: str) -> Path:
    form = clinic.folder / "intake.toml"
    form.unlink(missing_ok=True)
    assert "Fill in" in clinic.run("intake", athlete_id, "--form", str(form)).out
    text = form.read_text(encoding="utf-8").replace("height_cm = 0 ", "height_cm = 158 ", 1)
    text = re.sub(r'^# sex = "male"', 'sex = "male"', text, flags=re.MULTILINE)
    text = text.replace('"not asked"', '"no"')
    for key, answer in answers.items():
        text = text.replace(f'{key} = "no"', f'{key} = "{answer}"')
    form.write_text(text, encoding="utf-8")
    return form


def test_from_the_first_question_to_drills(clinic: Clinic) -> None:
    athlete_id = add_athlete(clinic)
    held = clinic.run("intake", athlete_id, str(fill_intake(clinic, athlete_id, locking="yes")))
    assert held.status == 0
    assert "ON HOLD: no throwing tests, drills or plans." in held.out
    assert "A joint that catches or locks has to be examined before the next throw." in held.out
    refused = clinic.run("drills", athlete_id, "--keep")
    assert refused.status == 2
    assert "No drills while a warning sign shows" in refused.said
    short = clinic.run("release", athlete_id, "--reason", "ok")
    assert (short.status, "has no reason" in short.said) == (2, True)
    released = clinic.run("release", athlete_id, "--reason", "Examined: full motion, nothing catches")
    assert re.search(r"Released by Rowan on \d{4}-\d\d-\d\d: Examined", released.out)
    shown = clinic.run("intake", athlete_id)
    assert "Moore 2015, by height: " in shown.out
    assert "give or take" in shown.out
    chosen = clinic.run("drills", athlete_id, "--keep")
    assert chosen.status == 0
    assert "No drill is chosen." in chosen.out
    assert "Screening aid" in chosen.out


def test_exam_form_filled_in_and_judged(clinic: Clinic) -> None:
    athlete_id = add_athlete(clinic)
    form = clinic.folder / "exam.toml"
    clinic.run("examine", athlete_id, "--form", str(form))
    text = form.read_text(encoding="utf-8").replace('rater = ""', 'rater = "Rowan"')
    blocks = text.split("[[reading]]")
    for number, block in enumerate(blocks):
        if '"hip_internal_rotation"' in block:
            value = 18 if "throwing side" in block else 44
            blocks[number] = block.replace("values = []", f"values = [{value}, {value + 2}]")
    form.write_text("[[reading]]".join(blocks), encoding="utf-8")
    judged = clinic.run("examine", athlete_id, str(form))
    assert judged.status == 0, judged.said
    assert "hip internal rotation at 90 degrees, throwing side: 19°, give or take" in judged.out
    assert "beyond (at least 30°" in judged.out
    values = json.loads(clinic.run("examine", athlete_id, "--json").out)
    jsonschema.validate(values, json.loads(run_plain("schema", "findings")))
    hips = {item["quantity"]: item for item in values["findings"]}["hip_internal_rotation_throwing"]
    assert hips["thresholds"][0]["probability_beyond"] > 0.9


def test_json_keeps_its_schema(clinic: Clinic) -> None:
    athlete_id = add_athlete(clinic)
    clinic.run("intake", athlete_id, str(fill_intake(clinic, athlete_id)))
    schema = json.loads(run_plain("schema", "drills"))
    values = json.loads(clinic.run("drills", athlete_id, "--json").out)
    jsonschema.validate(values, schema)
    standing = json.loads(clinic.run("intake", athlete_id, "--json").out)
    assert standing["standing"] == "clear"
    jsonschema.validate(standing, json.loads(run_plain("schema", "standing")))
    held = fill_intake(clinic, athlete_id, pop="yes")
    standing = json.loads(clinic.run("intake", athlete_id, str(held), "--json").out)
    assert [item["sign"] for item in standing["signs"]] == ["pop"]
    jsonschema.validate(standing, json.loads(run_plain("schema", "standing")))


def test_rules_are_read_changed_and_refused(clinic: Clinic) -> None:
    path = clinic.folder / "rules.csv"
    assert "the packaged rules" in clinic.run("rules", "--write", str(path)).out
    assert "Version 1" in clinic.run("rules", str(path), "--reason", "our own").out
    path.write_text(path.read_text(encoding="utf-8").replace("late_chest_step", "backflip"), encoding="utf-8")
    refused = clinic.run("rules", str(path), "--reason", "fun")
    assert (refused.status, "not in the library" in refused.said) == (2, True)
    assert clinic.run("rules").out.startswith("topic,keys")


def test_library_is_listed_and_drawn(clinic: Clinic) -> None:
    assert len(run_plain("drills").splitlines()) >= 30
    figure = clinic.folder / "stride.svg"
    assert "Stop: " in run_plain("drills", "chalk_line_stride", "--figure", str(figure))
    assert figure.read_text(encoding="utf-8").startswith("<svg")
    assert run_commands(list_commands, ["drills", "backflip"]) == 2


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("missing.toml", None, "cannot be read"),
        ("broken.toml", "height_cm = ", "correct that place"),
        ("list.json", "{}", "taken_on: is missing"),
        ("binary.toml", b"\xff\xfe\x00", "no text"),
    ],
)
def test_files_that_cannot_be_used(clinic: Clinic, name: str, text: str | bytes | None, words: str) -> None:
    athlete_id = add_athlete(clinic)
    path = clinic.folder / name
    if text is not None:
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    ended = clinic.run("intake", athlete_id, str(path))
    assert ended.status == 2
    assert words in ended.said
    assert ended.said.count("\n") == 1
