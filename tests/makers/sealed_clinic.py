"""A clinic in a sealed record on the disk, for programs in a process of their own."""

from __future__ import annotations

import os
from pathlib import Path

from elbowroom import bootstrap
from elbowroom.adapters.passwords.hashing import Argon2Hasher
from elbowroom.service.beginning import begin_clinic_with_password
from elbowroom.service.record_values import ClinicFacts
from elbowroom.settings import RecordSettings
from tests.makers.record import PASSPHRASE, STAMP
from tests.makers.web import PASSWORD


def begin_sealed_clinic(folder: Path) -> dict[str, str]:
    """Begin a record in a folder, with a clinician Rowan, and return the environment that names it."""
    (folder / "passphrase").write_text(PASSPHRASE, encoding="utf-8")
    place = RecordSettings(folder=folder / "record", address="", passphrase_file=None)
    record = bootstrap.begin_record(place, PASSPHRASE)
    facts = ClinicFacts(name="River Street", person_name="Rowan")
    begin_clinic_with_password(record, Argon2Hasher(memory_kib=64, passes=1, lanes=1), facts, PASSWORD, STAMP)
    places = {"ELBOWROOM_RECORD": str(place.folder), "ELBOWROOM_PASSPHRASE_FILE": str(folder / "passphrase")}
    return {**os.environ, **places}
