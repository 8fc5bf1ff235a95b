"""The append-only log of one vehicle: its entries, its file, and its replay into observations."""

from diag.case.answer import Answer, Fault, is_reading, read_answer
from diag.case.check import entry_problems
from diag.case.circumstance import Circumstances
from diag.case.entry import (
    GONE,
    NOT_FOUND,
    UNKNOWN,
    UNSURE,
    AccessEntry,
    Case,
    Changed,
    CheckEntry,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    HowWell,
    OpenedEntry,
    RepairEntry,
    SettingEntry,
    SpecEntry,
    TheoryEntry,
    UndoEntry,
)
from diag.case.file import append, create, extend, load
from diag.case.in_force import in_force, last_in_force, reference_problems
from diag.case.measured import Measured
from diag.case.record import as_entries
from diag.case.replay import observe, readings_in, replay, settings
from diag.case.theories import read_theory, theories

__all__ = [
    "GONE",
    "NOT_FOUND",
    "UNKNOWN",
    "UNSURE",
    "AccessEntry",
    "Answer",
    "Case",
    "Changed",
    "CheckEntry",
    "Circumstances",
    "ConfirmedEntry",
    "Entry",
    "Fault",
    "FindingEntry",
    "FittingEntry",
    "HowWell",
    "Measured",
    "OpenedEntry",
    "RepairEntry",
    "SettingEntry",
    "SpecEntry",
    "TheoryEntry",
    "UndoEntry",
    "append",
    "as_entries",
    "create",
    "entry_problems",
    "extend",
    "in_force",
    "is_reading",
    "last_in_force",
    "load",
    "observe",
    "read_answer",
    "read_theory",
    "readings_in",
    "reference_problems",
    "replay",
    "settings",
    "theories",
]
