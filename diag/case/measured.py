"""The readings in a log: all of one finding together make one look at it.

What needs numpy is imported where a reading is: most commands meet none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from diag.case.answer import mixed
from diag.case.circumstance import Circumstances
from diag.case.entry import CheckEntry, Entry, FindingEntry, SpecEntry
from diag.case.ids import Ids
from diag.knowledge.types import Finding
from diag.measure.checks import error_told
from diag.measure.forms import Reading, read_text
from diag.measure.misread import Misread
from diag.measure.units import unit_named
from diag.measure.vehicle import Vehicle, vehicle_of
from diag.network.observations import Look

if TYPE_CHECKING:
    from diag.measure.likelihood import Taken, Told


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
        from diag.measure.errors import node_weights

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
    from diag.measure.likelihood import Taken, told_by

    assert isinstance(asked, Finding)
    trusts = [circumstances.trust(entry.when, asked.condition) for entry in told]
    best = max(trusts)
    entries = tuple(entry for entry, trust in zip(told, trusts, strict=True) if trust == best)
    taken = []
    for entry in entries:
        reading = read_text(entry.reading, asked, vehicle)
        assert not isinstance(reading, Misread), entry
        taken.append(Taken(reading, instrument_key(entry.with_instrument, asked)))
    return Measured(asked, entries, tuple(taken), told_by(asked, taken, vehicle), best)


def instrument_key(name: str, finding: Finding) -> str:
    """What an error belongs to: the instrument and the kind of quantity it reads; "" where there is no such error.

    A multimeter that reads volts high need not read amperes high. Where the error cancels, as in a difference of two
    readings or a ratio, the model has none.
    """
    model = finding.reading
    kind = unit_named(model.unit) if model and model.error.value > 0 else None
    return f"{name}: {kind[0]}" if name and kind else ""


def look_of(told: Measured, shared: Container[str], stage: int) -> Look:
    """The look that readings make together; ``shared`` are instruments whose error something else tells of too.

    An error that nothing else tells of is averaged over once and for all, which keeps the network small.
    """
    number, names = told.entries[0].number, told.told.instruments
    if not any(name in shared for name in names):
        names = ()
    table = told.shared if names else ()
    return Look(told.finding.id, told.likelihood, False, number, told.trust, stage, names, table)


def shared_instruments(told: Iterable[Measured], checked: Iterable[str]) -> frozenset[str]:
    """Instruments that several findings were read with, or that were checked."""
    used = Counter(name for one in told for name in one.told.instruments)
    return frozenset(checked).union(name for name, count in used.items() if count > 1)


def checked_instruments(entries: Iterable[Entry], told: Iterable[Measured]) -> dict[str, tuple[float, ...]]:
    """What checks tell of the errors of the instruments that something was read with."""
    told, found = tuple(told), dict[str, tuple[float, ...]]()
    for entry in entries:
        for one in told if isinstance(entry, CheckEntry) else ():
            assert isinstance(entry, CheckEntry)
            key = instrument_key(entry.check, one.finding)
            likelihood = error_told(entry.value, one.finding) if key in one.told.instruments else None
            if likelihood is not None:
                known = found.get(key, (1.0,) * len(likelihood))
                found[key] = tuple(a * b for a, b in zip(known, likelihood, strict=True))
                break
    return found


def findings_of(ids: Ids) -> tuple[Finding, ...]:
    """The findings among all ids, each once."""
    return tuple(entry for name, entry in ids.items() if isinstance(entry, Finding) and name == entry.id)
