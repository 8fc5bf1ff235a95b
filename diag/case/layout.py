"""How a case looks in its file: the head, and a few lines for each entry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, Field, fields
from datetime import UTC, datetime

from diag.case.entry import (
    UNKNOWN,
    AccessEntry,
    CheckEntry,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    OpenedEntry,
    RepairEntry,
    SettingEntry,
    SpecEntry,
    TheoryEntry,
    UndoEntry,
)
from diag.case.scalar import scalar

FORMAT = 1
SIGN = "diag_case"
HEAD_KEYS = (SIGN, "format", "vehicle", "entries")
ENTRY_KEY = "entry"
COMMON_KEYS = ("instead", "by", "note", "time", "knowledge")

# The key that names the kind of an entry -> its type.
KINDS: Mapping[str, type[Entry]] = {
    "opened": OpenedEntry,
    "finding": FindingEntry,
    "fitting": FittingEntry,
    "undo": UndoEntry,
    "repair": RepairEntry,
    "access": AccessEntry,
    "setting": SettingEntry,
    "theory": TheoryEntry,
    "spec": SpecEntry,
    "check": CheckEntry,
    "confirmed": ConfirmedEntry,
}

_COMMON_FIELDS = frozenset(f.name for f in fields(Entry))
_OWN_FIELDS: Mapping[type[Entry], tuple[Field[object], ...]] = {
    kind: tuple(f for f in fields(kind) if f.name not in _COMMON_FIELDS) for kind in KINDS.values()
}
_INTRODUCTION = "# A case file of diag. New entries are added at the end; what was wrong is corrected by a new entry."


def own_fields(kind: type[Entry]) -> tuple[Field[object], ...]:
    """The fields that only this kind of entry has, the one that names the kind first."""
    return _OWN_FIELDS[kind]


def needed(field: Field[object]) -> bool:
    """Whether the key of this field must stand in the file."""
    return field.default is MISSING and field.default_factory is MISSING


def head(vehicle: str) -> str:
    """The lines above the first entry."""
    return f"{_INTRODUCTION}\n{SIGN}: true\nformat: {FORMAT}\nvehicle: {scalar(vehicle)}\nentries:\n"


def block(entries: Iterable[Entry], indent: int = 2) -> str:
    """The lines of ``entries``, each a list item whose dash stands after ``indent`` blanks."""
    return "".join(_item(entry, " " * indent) for entry in entries)


def time_text(time: datetime) -> str:
    """``time``, which must know its zone, as UTC with seconds."""
    return time.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _item(entry: Entry, margin: str) -> str:
    lines = (f"{key}: {_value(key, value)}\n" for key, value in _pairs(entry))
    return f"{margin}- " + f"{margin}  ".join(lines)


def _pairs(entry: Entry) -> Iterable[tuple[str, object]]:
    """Keys and values in the order of the file; what says no more than its default is left out."""
    yield ENTRY_KEY, entry.number
    for field in own_fields(type(entry)):
        value = getattr(entry, field.name)
        if needed(field) or value != field.default:
            yield field.name, value
    for key in COMMON_KEYS:
        value = getattr(entry, key)
        if value not in (None, ""):
            yield key, value


def _value(key: str, value: object) -> str:
    if key == "time":
        return str(value)  # digits in a fixed form: every reader may take it for a time
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(k)}: {_one(v)}" for k, v in value.items()) + "}"
    if isinstance(value, tuple):
        return "[" + ", ".join(_one(word) for word in value) + "]"
    return _one(value)


def _one(value: object) -> str:
    if isinstance(value, str):
        return scalar(value)
    if value is None:
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
