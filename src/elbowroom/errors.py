"""Everything that elbowroom raises.

    ElbowroomError
    |- AbsentValueError          the value of something absent was asked for
    |- UncertainComparisonError  an uncertain value was compared or turned into a bare number
    |- SettingsError             an environment variable that sets elbowroom up cannot be used
    |- WeightsError              the weights of the landmark model could not be had or are not the right ones
    |- ClipError                 a clip cannot be read or used
    |- VisitError                the visit file is wrong or incomplete
    |- SetUpError                the cameras cannot work as placed or marked
    |- TableError                a reference table is wrong
    |- ResultError               a report or other file cannot be written where it was asked for
    |- RecordError               the clinic's record cannot be opened, read or changed as asked
    |   |- PassphraseError       the passphrase is missing, too short or not the one of the record
    |   |- DamageError           something in the record is not as it was written
    |   |- ConflictError         somebody else changed the same thing meanwhile
    |   |- NotThereError         nothing of that name or id is in the record
    |   |- ConsentError          no consent covers what was asked for
    |   `- StoppedError          a job was cancelled or taken over while it was done
    |- AccessError               who asks may not have what was asked for, or has to log in first
    |   `- KeyRefusedError       a program brought no key, or one that does not hold
    |- IntakeError               what was asked or examined cannot be used as given
    |- HoldError                 a warning sign stops throwing tests, drills and plans until a clinician releases it
    |- PlanError                 a count, plan or programme cannot be as asked
    |- ScreeningError            the clips gave no throw, or no numbers for another reason
    `- CorrectionError           a correction does not fit the visit that it is meant for

A message is one sentence that says what to do next.
"""

from __future__ import annotations


class ElbowroomError(Exception):
    """Root of the tree."""


class AbsentValueError(ElbowroomError):
    """The value of something absent was asked for."""


class UncertainComparisonError(ElbowroomError):
    """An uncertain value was compared or turned into a bare number."""


class SettingsError(ElbowroomError):
    """An environment variable that sets elbowroom up cannot be used."""


class WeightsError(ElbowroomError):
    """The weights of the landmark model could not be had or are not the right ones."""


class ClipError(ElbowroomError):
    """A clip cannot be read or used."""


class VisitError(ElbowroomError):
    """The visit file is wrong or incomplete."""


class SetUpError(ElbowroomError):
    """The cameras cannot work as placed or marked."""


class TableError(ElbowroomError):
    """A reference table is wrong."""


class ResultError(ElbowroomError):
    """A report or other file cannot be written where it was asked for."""


class RecordError(ElbowroomError):
    """The clinic's record cannot be opened, read or changed as asked."""


class PassphraseError(RecordError):
    """The passphrase is missing, too short or not the one of the record."""


class DamageError(RecordError):
    """Something in the record is not as it was written."""


class ConflictError(RecordError):
    """Somebody else changed the same thing meanwhile."""


class NotThereError(RecordError):
    """Nothing of that name or id is in the record."""


class ConsentError(RecordError):
    """No consent covers what was asked for."""


class AccessError(ElbowroomError):
    """Who asks may not have what was asked for, or has to log in first."""


class KeyRefusedError(AccessError):
    """A program brought no key, or one that does not hold."""


class IntakeError(ElbowroomError):
    """What was asked or examined cannot be used as given."""


class HoldError(ElbowroomError):
    """A warning sign stops throwing tests, drills and plans until a clinician releases it."""


class PlanError(ElbowroomError):
    """A count, plan or programme cannot be as asked."""


class StoppedError(RecordError):
    """A job was cancelled or taken over while it was done."""


class ScreeningError(ElbowroomError):
    """The clips gave no throw, or no numbers for another reason."""


class CorrectionError(ElbowroomError):
    """A correction does not fit the visit that it is meant for."""
