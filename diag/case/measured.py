"""The readings in a log: all of one finding together make one look at it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diag.case.answer import mixed
from diag.case.circumstance import Circumstances
from diag.case.entry import CheckEntry, Entry, FindingEntry, SpecEntry
from diag.case.ids import Ids
from diag.knowledge.types import Finding
from diag.measure.checks import error_told
from diag.measure.errors import node_weights
from diag.measure.forms import Reading, read_text
from diag.measure.likelihood import Taken, Told, told_by
from diag.measure.misread import Misread
from diag.measure.vehicle import Vehicle, vehicle_of
from diag.network.observations import Look, SharedReading


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings of one finding that count together: their entries, as taken, what they tell, how far it is trusted."""

    finding: Finding
    entries: tuple[FindingEntry, ...]
    taken: tuple[Taken, ...]
    told: Told
    trust: float

    @property
    def likelihood(self) -> tuple[float, ...]:
        """Over the states alone, errors of instruments averaged over, mixed with a flat one by trust."""
        table = self.told.table
        for _ in self.told.instruments:
            table = table @ node_weights()
        return mixed((table / table.max()).tolist(), self.trust)

    @property
    def shared(self) -> tuple[float, ...]:
        """Over the states and the errors of the instruments named."""
        return mixed(self.told.table.ravel().tolist(), self.trust)


def vehicle_in(entries: Iterable[Entry], ids: Ids) -> Vehicle:
    """What the entries tell of the vehicle; the first reading of all cylinders tells how many it has."""
    entries = tuple(entries)
    vehicle = vehicle_of(((e.spec, e.value) for e in entries if isinstance(e, SpecEntry)), findings_of(ids))
    for entry in entries:
        asked = reading_of(entry, ids)
        if vehicle.cylinders is None and asked and asked.reading and asked.reading.form == "cylinders":
            assert isinstance(entry, FindingEntry)
            reading = read_text(entry.reading, asked, vehicle)
            if isinstance(reading, Reading):
                vehicle = Vehicle({**vehicle.figures, "cylinders": len(reading.values)}, vehicle.limits)
    return vehicle


def reading_of(entry: Entry, ids: Ids) -> Finding | None:
    """The finding that ``entry`` is a reading of that counts, or None."""
    if not isinstance(entry, FindingEntry) or entry.state:
        return None
    asked = ids.get(entry.finding)
    return asked if isinstance(asked, Finding) and asked.reading else None


def measured(
    entries: Sequence[tuple[int, Entry]], ids: Ids, circumstances: Circumstances
) -> dict[tuple[int, str], Measured]:
    """By stage and finding, all its readings that count; those less trusted than the best are left out.

    entries: each with its stage.
    """
    vehicle = vehicle_in((entry for _, entry in entries), ids)
    found: dict[tuple[int, str], list[FindingEntry]] = {}
    for stage, entry in entries:
        asked = reading_of(entry, ids)
        if asked and isinstance(entry, FindingEntry):
            found.setdefault((stage, asked.id), []).append(entry)
    return {key: _together(ids[key[1]], told, circumstances, vehicle) for key, told in found.items()}


def _together(asked: object, told: list[FindingEntry], circumstances: Circumstances, vehicle: Vehicle) -> Measured:
    assert isinstance(asked, Finding)
    trusts = [circumstances.trust(entry.when, asked.condition) for entry in told]
    best = max(trusts)
    entries = tuple(entry for entry, trust in zip(told, trusts, strict=True) if trust == best)
    taken = []
    for entry in entries:
        reading = read_text(entry.reading, asked, vehicle)
        assert not isinstance(reading, Misread), entry
        taken.append(Taken(reading, entry.with_instrument))
    return Measured(asked, entries, tuple(taken), told_by(asked, taken, vehicle), best)


def look_of(told: Measured, stage: int) -> Look:
    """The look that readings make; flat where instruments were named, for then the network holds what they tell."""
    likelihood = (1.0,) * len(told.finding.states) if told.told.instruments else told.likelihood
    return Look(told.finding.id, likelihood, False, told.entries[0].number, told.trust, stage)


def shared_readings(told: Iterable[Measured]) -> tuple[SharedReading, ...]:
    """The readings by named instruments."""
    return tuple(
        SharedReading(one.finding.id, one.entries[0].number, one.told.instruments, one.shared)
        for one in told
        if one.told.instruments
    )


def checked_instruments(entries: Iterable[Entry], told: Iterable[Measured]) -> dict[str, tuple[float, ...]]:
    """What checks tell of the errors of the instruments that something was read with."""
    told, found = tuple(told), dict[str, tuple[float, ...]]()
    for entry in entries:
        for one in told if isinstance(entry, CheckEntry) else ():
            assert isinstance(entry, CheckEntry)
            likelihood = error_told(entry.value, one.finding) if entry.check in one.told.instruments else None
            if likelihood is not None:
                known = np.array(found.get(entry.check, (1.0,) * len(likelihood)))
                found[entry.check] = tuple((known * likelihood).tolist())
                break
    return found


def findings_of(ids: Ids) -> tuple[Finding, ...]:
    """The findings among all ids, each once."""
    return tuple(entry for name, entry in ids.items() if isinstance(entry, Finding) and name == entry.id)
