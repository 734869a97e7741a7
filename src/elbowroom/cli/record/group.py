"""`elbowroom record`."""

from __future__ import annotations

import click

from elbowroom.cli.record.athlete import add_athlete
from elbowroom.cli.record.backup import write_backup
from elbowroom.cli.record.begin import begin_record
from elbowroom.cli.record.check import check_record
from elbowroom.cli.record.consent import add_consent
from elbowroom.cli.record.correct import add_correction
from elbowroom.cli.record.demo_club import add_demo_club
from elbowroom.cli.record.drills import choose_drills
from elbowroom.cli.record.due import list_due
from elbowroom.cli.record.examine import examine_athlete
from elbowroom.cli.record.faceless import write_faceless_visit
from elbowroom.cli.record.forget import forget_athlete
from elbowroom.cli.record.give import write_archive
from elbowroom.cli.record.intake import take_intake
from elbowroom.cli.record.keep import keep_visit
from elbowroom.cli.record.keys import change_keys
from elbowroom.cli.record.list import list_athletes
from elbowroom.cli.record.papers import write_papers
from elbowroom.cli.record.passphrase import change_passphrase
from elbowroom.cli.record.person import list_person_commands
from elbowroom.cli.record.release import release_hold
from elbowroom.cli.record.restore import restore_backup
from elbowroom.cli.record.rules import change_rules
from elbowroom.cli.record.show import show_athlete
from elbowroom.cli.record.take import take_archive
from elbowroom.cli.record.trail import show_trail
from elbowroom.cli.record.withdraw import withdraw_consent
from elbowroom.cli.record.work import run_workers


@click.group("record", epilog="Example:  elbowroom record list")
def list_record_commands() -> None:
    """Keep visits in the clinic's record, encrypted on this machine.

    The record lies in the folder that ELBOWROOM_RECORD names, or on the PostgreSQL server whose address it gives
    (ELBOWROOM_VAULT then names the folder of keys and files). The passphrase is asked for, or read from the file
    that ELBOWROOM_PASSPHRASE_FILE names. Nobody can open the record without it: keep a copy in a safe.
    """


for command in (
    begin_record,
    list_person_commands,
    add_athlete,
    add_consent,
    withdraw_consent,
    take_intake,
    release_hold,
    examine_athlete,
    choose_drills,
    change_rules,
    keep_visit,
    add_correction,
    write_papers,
    list_athletes,
    show_athlete,
    show_trail,
    list_due,
    write_archive,
    write_faceless_visit,
    take_archive,
    forget_athlete,
    write_backup,
    restore_backup,
    check_record,
    change_passphrase,
    change_keys,
    add_demo_club,
    run_workers,
):
    list_record_commands.add_command(command)
