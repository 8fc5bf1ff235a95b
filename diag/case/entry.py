"""The entries of a case and the case itself, as frozen data. Nothing here computes.

Every kind of entry is named by its first field of its own, which is also its key in the file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, Self

from diag.text import Mark

NOWHERE = Mark("", 0, 0)
GONE = "gone"
UNSURE = "unsure"
NOT_FOUND = "not_found"
UNKNOWN = "unknown"

# Beside the cause of a theory: the joint table over all of them has to stay small.
MOST_STATEMENTS = 6

HowWell = Literal["usual", "fine", "with_trouble"]
Changed = Literal["not_told", "same", "better", "gone"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry has.

    One that is in no file yet has number 0 and neither time nor knowledge version; ``append`` gives
    them. ``time`` is UTC, ISO 8601 with seconds. ``instead`` is the number of the entry that this one
    corrects. ``mark`` is where the entry begins in its file, ``marks`` where the value of each key does.
    """

    number: int = 0
    time: str = ""
    knowledge: str = ""
    instead: int | None = None
    by: str = ""
    note: str = ""
    mark: Mark = field(default=NOWHERE, compare=False)
    marks: Mapping[str, Mark] = field(default_factory=dict, compare=False, repr=False)

    def at(self, key: str) -> Mark:
        """Where the value of ``key`` stands; the entry's own place where the key is not in the file."""
        return self.marks.get(key, self.mark)

    def stamped(self, number: int, time: str, knowledge: str) -> Self:
        """The same entry with its number, time and knowledge version."""
        return replace(self, number=number, time=time, knowledge=knowledge)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedEntry(Entry):
    """The first entry of every case: which fittings were told, yes or no."""

    opened: Mapping[str, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingEntry(Entry):
    """An answer about a finding or a history fact.

    ``state`` is a state, ``unsure:STATE``, ``unsure:STATE:0.7`` or ``gone``; ``reading`` a reading in
    the words of the person. One of the two is there; with both, the state counts. ``when`` are the circumstances
    told, ``with_instrument`` names the instrument: all its readings share one error.
    """

    finding: str
    state: str = ""
    reading: str = ""
    complaint: bool = False
    when: tuple[str, ...] = ()
    with_instrument: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingEntry(Entry):
    """What the vehicle has or has not; None takes back what was told: nobody knows."""

    fitting: str
    fitted: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UndoEntry(Entry):
    """Takes back the entry with the number ``undo``, which may be an undo itself."""

    undo: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairEntry(Entry):
    """Causes, damage or parts put right: a new stage begins, unless it was before this case.

    ``how_well`` it went. ``disturbed`` are access steps that were done besides those the repair needs.
    ``changed``: what a repair before the case changed.
    """

    repair: tuple[str, ...]
    how_well: HowWell = "usual"
    disturbed: tuple[str, ...] = ()
    before_case: bool = False
    changed: Changed = "not_told"


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessEntry(Entry):
    """A state of the vehicle that was brought about, or undone."""

    access: str
    reached: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingEntry(Entry):
    """A setting of this case, as text."""

    setting: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TheoryEntry(Entry):
    """What ``by`` holds to be true: a cause, effects that followed, and causes or effects that are not there."""

    theory: str
    followed: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecEntry(Entry):
    """A figure of this vehicle from its own manual, as text; ``spec`` is what it is of."""

    spec: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckEntry(Entry):
    """A check of the instrument ``check``, as text: what it showed at what it should have."""

    check: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedEntry(Entry):
    """The confirmed cause, or ``not_found``, and how it was seen; ``good``: causes, damage, parts that were sound."""

    confirmed: str
    seen: str = ""
    good: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """One vehicle, one complaint, an append-only log. ``file`` is the name that problems carry."""

    file: str
    vehicle: str
    entries: tuple[Entry, ...]

    @property
    def last_number(self) -> int:
        """The number of the last entry; 0 where there is none."""
        return self.entries[-1].number if self.entries else 0
