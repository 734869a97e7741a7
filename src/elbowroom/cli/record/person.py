"""`elbowroom record person`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools
from elbowroom.errors import RecordError

if TYPE_CHECKING:
    from elbowroom.service.record_tools import RecordTools
    from elbowroom.service.record_types import PersonEntry

ROLES = ("clinician", "assistant", "reader")
FILE_OPTION = click.option(
    "--password-file", type=click.Path(path_type=Path), help="File that holds the password; asked for otherwise."
)


@click.group("person", epilog="Example:  elbowroom record person add Sam --role assistant")
def list_person_commands() -> None:
    """Add the people who work with the record, and change their roles and passwords.

    A clinician may do everything, an assistant films and sees no findings, a reader looks and changes nothing.
    """


@list_person_commands.command("add", epilog="Example:  elbowroom record person add Sam --role assistant")
@click.argument("name")
@click.option("--role", type=click.Choice(ROLES), required=True, help="What the person may do.")
@FILE_OPTION
@add_person_option
def add_person(name: str, role: str, password_file: Path | None, person: str) -> None:
    """Add a person with a password of their own, which opens the pages."""
    from elbowroom import bootstrap_web
    from elbowroom.service import people
    from elbowroom.service.record_types import Role

    tools = open_tools()
    stamp = make_stamp(tools, person)
    password = _read_password(password_file, name)
    added = people.add_person(tools, name, Role(role), stamp)
    people.set_password(tools, bootstrap_web.build_hasher(), added, password, stamp)
    click.echo(f"{name} may log in as {role}.")


@list_person_commands.command("password", epilog="Example:  elbowroom record person password Sam")
@click.argument("name")
@FILE_OPTION
@add_person_option
def set_password(name: str, password_file: Path | None, person: str) -> None:
    """Set a person's password; the older ones no longer hold."""
    from elbowroom import bootstrap_web
    from elbowroom.service import people

    tools = open_tools()
    found, stamp = _get_named(tools, name), make_stamp(tools, person or name)
    password = _read_password(password_file, found.name)
    people.set_password(tools, bootstrap_web.build_hasher(), found.person_id, password, stamp)
    click.echo(f"The new password of {found.name} holds.")


@list_person_commands.command("role", epilog="Example:  elbowroom record person role Sam reader")
@click.argument("name")
@click.argument("role", type=click.Choice([*ROLES, "retired"]))
@add_person_option
def change_role(name: str, role: str, person: str) -> None:
    """Give a person another role, or retire them; a clinician always stays.

    Whoever is retired can no longer log in; what they did stays in the trail under their name.
    """
    from elbowroom.service import people
    from elbowroom.service.record_types import Role

    tools = open_tools()
    found = _get_named(tools, name)
    people.change_role(tools, found.person_id, Role(role), found.version, make_stamp(tools, person))
    click.echo(f"{found.name} is {role} now.")


@list_person_commands.command("list", epilog="Example:  elbowroom record person list")
def list_people() -> None:
    """List the people, their roles, and who cannot log in for want of a password."""
    from elbowroom.service import people, record_tools

    tools = open_tools()
    for entry in sorted(record_tools.list_people(tools).values(), key=lambda one: one.name.casefold()):
        note = "" if people.has_password(tools, entry.person_id) else "no password yet"
        click.echo(f"{entry.role:<10} {entry.name}  {note}".rstrip())


def _get_named(tools: RecordTools, name: str) -> PersonEntry:
    from elbowroom.core.quantities.types import Absent
    from elbowroom.service.people import find_named

    found = find_named(tools, name)
    if isinstance(found, Absent):
        raise RecordError(f"Nobody works here as {name}: `elbowroom record person list` names everybody.")
    return found


def _read_password(file: Path | None, name: str) -> str:
    """Read a new password from a file, or ask for it twice; raises `RecordError` where it is too weak."""
    from elbowroom.service.people import find_password_problem

    if file is None:
        password = str(click.prompt(f"New password of {name}", hide_input=True, confirmation_prompt=True, err=True))
    else:
        try:
            password = file.read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as e:
            raise RecordError(f"{file} cannot be read: name a text file.") from e
    problem = find_password_problem(password, name)
    if problem:
        raise RecordError(problem)
    return password
