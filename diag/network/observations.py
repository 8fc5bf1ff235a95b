"""What was observed in one vehicle, as the network takes it. Nothing here computes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diag.measure.vehicle import Vehicle


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a finding, or one answer about a history fact.

    ``likelihood`` has one number for each state of the finding, in the order of its states, already
    mixed with a flat one by ``trust``; None says that the finding can never be seen now (gone).
    ``complaint`` marks what brought the vehicle in; ``entry`` is the number of the entry in the case.
    ``trust`` is 1.0, or less where the circumstance of the finding was not met or not known.
    """

    finding: str
    likelihood: tuple[float, ...] | None
    complaint: bool
    entry: int
    trust: float


@dataclass(frozen=True, slots=True)
class SharedReading:
    """What readings of one finding by named instruments tell, beside a Look that says no more than that it was seen.

    ``look`` is the number, from 1, of that look among those of the finding. ``likelihood`` is over the states and the
    error of each instrument (nodes of ``diag.measure.errors``), the last running fastest; its greatest is at most 1.
    """

    finding: str
    look: int
    instruments: tuple[str, ...]
    likelihood: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Observations:
    """All that counts in a case. Several looks at one finding stand in the order they were told.

    ``looks`` are of findings, ``history`` of history facts. ``fitted`` holds told fittings only.
    ``gone`` are ids whose last answer was that it can never be seen now. ``confirmed`` is a cause id,
    ``not_found``, or None while the case is open. ``access`` are steps with the last word on each.
    ``readings`` are those by named instruments, ``checks`` what is known of an instrument's error by its own check.
    ``vehicle`` holds the figures of its own manual.
    """

    looks: tuple[Look, ...]
    history: tuple[Look, ...]
    fitted: Mapping[str, bool]
    gone: frozenset[str]
    confirmed: str | None
    access: Mapping[str, bool]
    readings: tuple[SharedReading, ...] = ()
    checks: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    vehicle: Vehicle = field(default_factory=Vehicle)
