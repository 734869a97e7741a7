"""The people of a record from the command line: added, given other roles and passwords, retired.

Sides: what is printed and the exit status; the entries in the sealed record; each way to go wrong, a sentence each.
"""

from __future__ import annotations

import io
import os
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from unittest import mock

import pytest

from elbowroom import bootstrap
from elbowroom.adapters.passwords.hashing import Argon2Hasher
from elbowroom.cli.main import list_commands
from elbowroom.cli.running import run_commands
from elbowroom.service.people_types import PasswordEntry
from elbowroom.service.record_tools import RecordTools, list_people
from elbowroom.settings import read_record_settings
from tests.makers.record import PASSPHRASE
from tests.makers.web import PASSWORD


class Machine:
    """Runs commands on one record."""

    def __init__(self, folder: Path) -> None:
        (folder / "passphrase").write_text(PASSPHRASE, encoding="utf-8")
        (folder / "password").write_text(PASSWORD + "\n", encoding="utf-8")
        self.password = str(folder / "password")
        self.places = {
            "ELBOWROOM_RECORD": str(folder / "record"),
            "ELBOWROOM_PASSPHRASE_FILE": str(folder / "passphrase"),
            "ELBOWROOM_PERSON": "",
        }

    def run(self, *words: str) -> tuple[int, str]:
        """Run a command; returns its status and all that it said."""
        said = io.StringIO()
        with mock.patch.dict(os.environ, self.places), redirect_stdout(said), redirect_stderr(said):
            status = run_commands(list_commands, ["record", *words])
        return status, said.getvalue()

    def open(self) -> RecordTools:
        return bootstrap.open_record(read_record_settings(self.places), PASSPHRASE)


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    made = Machine(tmp_path)
    assert made.run("begin", "--clinic", "River Street", "--person", "Rowan")[0] == 0
    return made


def test_people_come_change_and_go(machine: Machine) -> None:
    assert machine.run("person", "list") == (0, "clinician  Rowan  no password yet\n")
    assert machine.run("person", "password", "rowan", "--password-file", machine.password) == (
        0,
        "The new password of Rowan holds.\n",
    )
    added = machine.run("person", "add", "Sam", "--role", "assistant", "--password-file", machine.password)
    assert added == (0, "Sam may log in as assistant.\n")
    assert machine.run("person", "role", "Sam", "reader", "--by", "Rowan") == (0, "Sam is reader now.\n")
    assert machine.run("person", "role", "Sam", "retired", "--by", "Rowan")[0] == 0
    assert machine.run("person", "list") == (0, "clinician  Rowan\nretired    Sam\n")
    tools = machine.open()
    assert sorted(person.version for person in list_people(tools).values()) == [1, 3]
    entries = tools.entries.find_entries(PasswordEntry)
    assert len(entries) == 2
    assert all(Argon2Hasher().is_right(entry.hashed, PASSWORD) for entry in entries)
    assert PASSWORD not in str(entries)


WRONG = (
    (("password", "Nobody", "--password-file", "FILE"), "Nobody works here as Nobody"),
    (("role", "Rowan", "reader"), "only clinician"),
    (("add", "rowan", "--role", "reader", "--password-file", "FILE"), "Somebody works here as rowan"),
    (("add", "Sam", "--role", "reader", "--password-file", "missing.txt"), "missing.txt cannot be read"),
    (("add", "Sam", "--role", "owner"), "see `elbowroom record person add --help`"),
)


@pytest.mark.parametrize(("words", "sentence"), WRONG)
def test_what_cannot_be_done_is_said(machine: Machine, words: tuple[str, ...], sentence: str) -> None:
    status, said = machine.run("person", *(word.replace("FILE", machine.password) for word in words))
    assert status == 2
    assert sentence in said
    assert len(said.strip().splitlines()) == 1
    assert len(list_people(machine.open())) == 1


def test_weak_password_is_refused_before_anything(machine: Machine, tmp_path: Path) -> None:
    (tmp_path / "weak").write_text("password1234", encoding="utf-8")
    status, said = machine.run("person", "add", "Sam", "--role", "reader", "--password-file", str(tmp_path / "weak"))
    assert (status, "guessed first" in said) == (2, True)
    assert len(list_people(machine.open())) == 1
