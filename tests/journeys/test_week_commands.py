"""The commands of throwing weeks as a person uses them, over a record with the invented club.

Sides: what is printed; every JSON against the published schema; what was refused, a sentence each; the retest and the
team against the reports of the club, read on their own.
"""

from __future__ import annotations

import io
import json
import sys
from contextlib import redirect_stderr, redirect_stdout
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from elbowroom.bootstrap_pages import add_demo_club
from elbowroom.cli.main import list_commands
from elbowroom.cli.record.opening import make_stamp, open_tools
from elbowroom.cli.running import run_commands
from tests.makers.record import PASSPHRASE

TODAY = datetime.now(UTC).date()
CLUB_SIZE = 9


class Desk:
    """Runs command lines on one record."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "passphrase").write_text(PASSPHRASE, encoding="utf-8")
        self.say("record", "begin", "--clinic", "River Street", "--person", "Rowan")
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("ELBOWROOM_RECORD", str(folder / "record"))
            patch.setenv("ELBOWROOM_PASSPHRASE_FILE", str(folder / "passphrase"))
            tools = open_tools()
            add_demo_club(tools, make_stamp(tools, ""), lambda *_: None, CLUB_SIZE)
        lines = self.say("record", "list").splitlines()
        self.athlete_ids = [line.split()[0] for line in lines if int(line.split()[2]) >= 2]
        self.schema = json.loads(self.say("schema", "weeks"))

    def run(self, *words: str) -> tuple[int, str, str]:
        out, said = io.StringIO(), io.StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(said):
            patch.chdir(self.folder)
            patch.setattr(sys, "stdin", io.StringIO(""))
            patch.setenv("ELBOWROOM_RECORD", str(self.folder / "record"))
            patch.setenv("ELBOWROOM_PASSPHRASE_FILE", str(self.folder / "passphrase"))
            status = run_commands(list_commands, words)
        return status, out.getvalue(), said.getvalue()

    def say(self, *words: str) -> str:
        status, out, said = self.run(*words)
        assert status == 0, said
        return out

    def read(self, *words: str) -> dict[str, Any]:
        values = json.loads(self.say("weeks", *words, "--json"))
        jsonschema.validate(values, self.schema)
        assert isinstance(values, dict)
        return values

    def refuse(self, *words: str) -> str:
        status, out, said = self.run("weeks", *words)
        assert (status, out) == (2, ""), (out, said)
        assert said.count("\n") == 1
        return said


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return Desk(tmp_path_factory.mktemp("clinic"))


def find_young(desk: Desk) -> str:
    """Return an athlete whose age every step of this file has a row for."""
    lines = [line.split() for line in desk.say("record", "list").splitlines()]
    ages = {line[0]: TODAY.year - int(line[1][:4]) for line in lines}
    return next(athlete_id for athlete_id in desk.athlete_ids if 10 <= ages[athlete_id] <= 13)


def test_tables_name_their_sources(desk: Desk) -> None:
    text = desk.say("weeks", "tables")
    assert "league-regulation-6" in text
    assert text.count("second-hand copy") > 20
    assert "chosen by this project" in text


def test_a_season(desk: Desk) -> None:
    athlete_id = find_young(desk)
    desk.say("weeks", "team", "Herons", "--table", "league-regulation-6", "--athlete", athlete_id)
    said = desk.say("weeks", "count", athlete_id, "--team", "Herons", "--pitches", "51", "--last-batter", "45")
    assert "2 days' rest owed, 51 counted as 45 by the last-batter rule" in said
    counts = desk.read("free", athlete_id)
    assert (counts["may_pitch"], counts["first_day"]) == (False, (TODAY + timedelta(days=3)).isoformat())
    assert "No risk is worked out" in counts["no_ratio"]
    game = f"{TODAY + timedelta(days=9)}, Herons, 45"
    first = (TODAY + timedelta(days=1)).isoformat()
    plan = desk.read("plan", athlete_id, "--from", first, "--game", game)
    assert (plan["outcome"], len(plan["days"])) == ("laid out", 28)
    assert [day["pitches"] for day in plan["days"] if day["is_game"]] == [45]
    clash = desk.read("plan", athlete_id, "--from", first, "--game", f"{TODAY + timedelta(days=2)}, Herons, 30")
    assert (clash["outcome"], clash["days"]) == ("does not fit", [])
    assert "days of rest" in clash["words"]
    assert "/count/" in desk.say("weeks", "link", athlete_id, "--shown", "Player 12", "--for", "coach")


def test_a_return(desk: Desk) -> None:
    athlete_id = find_young(desk)
    begun = desk.read("return", athlete_id, "--begin", "--reason", "released after six weeks")
    assert (begun["programme"], begun["step"], begun["hold"]) == ("adolescent", 1, "")
    done = desk.read("return", athlete_id, "--done", "1", "--answer", "pain")
    assert done["hold"].startswith("pain, numbness")
    assert "on hold" in desk.refuse("return", athlete_id, "--done", "1", "--answer", "none")
    assert "On hold" in desk.refuse("plan", athlete_id)
    assert "reason" in desk.refuse("return", athlete_id, "--set", "1")
    free = desk.read("return", athlete_id, "--set", "2", "--reason", "examined, free of pain")
    assert (free["step"], free["hold"]) == (2, "")
    assert "phase 2: 15 + 15 + 20 throws at 40 ft" in desk.say("weeks", "return", athlete_id)


def test_a_retest_and_a_team(desk: Desk) -> None:
    athlete_id = desk.athlete_ids[0]
    retest = desk.read("retest", athlete_id, "--keep")
    assert sum(retest["words"].values()) == sum("word" in item for item in retest["changes"]) > 5
    assert {item["word"] for item in retest["changes"] if "word" in item} <= set(retest["words"])
    for other in desk.athlete_ids:
        desk.say("weeks", "team", "Otters", "--athlete", other)
    cohort = desk.read("cohort", "Otters")
    assert {turn["id"] for turn in cohort["turns"]} == set(desk.athlete_ids)
    weights = [turn["weight"] for turn in cohort["turns"] if not turn["reason"].startswith("Held")]
    assert weights == sorted(weights, reverse=True)
    text = desk.say("weeks", "cohort", "Otters")
    assert text.startswith("1. ")
    assert "athletes" in text


WRONG = {
    "future": (("count", "ID", "--team", "A", "--pitches", "3", "--day", "2099-01-01"), "yet to come"),
    "negative": (("count", "ID", "--team", "A", "--pitches", "-3"), "negative"),
    "no athlete": (("free", "nobody"), "no athlete"),
    "no team": (("cohort", "Swifts"), "no team"),
    "no table": (("team", "Swifts", "--table", "nowhere"), "no pitch-count table"),
    "game": (("plan", "ID", "--game", "tomorrow"), "cannot be read"),
    "sizes": (("plan", "ID", "--sizes", "many"), "no pitches"),
    "no return": (("return", "OTHER"), "no return"),
    "one visit": (("retest", "ID", "--visits", "a", "b"), "no such visit"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_is_said_in_a_sentence(desk: Desk, case: str) -> None:
    words, said = WRONG[case]
    ids = {"ID": find_young(desk), "OTHER": desk.athlete_ids[-1]}
    assert said in desk.refuse(*(ids.get(word, word) for word in words))
