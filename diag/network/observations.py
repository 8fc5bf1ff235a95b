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
    ``stage`` is the stretch of the case between repairs in which it was taken, from 1. A look by named
    ``instruments`` has in ``given_errors`` the likelihood over the states and the error of each of them (nodes of
    ``diag.measure.errors``), the last running fastest, the greatest at most 1.
    """

    finding: str
    likelihood: tuple[float, ...] | None
    complaint: bool
    entry: int
    trust: float
    stage: int = 1
    instruments: tuple[str, ...] = ()
    given_errors: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Mended:
    """What one repair put right: ids of causes and damage, each with the probability that this succeeded.

    ``stage`` is the stage that it began. ``brings_in``: faults with the probability that this work brought them in.
    """

    stage: int
    success: Mapping[str, float]
    brings_in: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Earlier:
    """A repair before the case: likelihood of what is told of it for causes and damage that it should have ended."""

    likelihood: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Observations:
    """All that counts in a case. Several looks at one finding stand in the order they were told.

    ``looks`` are of findings, ``history`` of history facts. ``fitted`` holds told fittings only.
    ``gone`` are ids whose last answer was that it can never be seen now. ``confirmed`` is a cause id,
    ``not_found``, or None while the case is open. ``access`` are steps with the last word on each.
    ``checks`` tell of the error of an instrument, by its name, what its own check told. ``vehicle`` holds the
    figures of its own manual. ``mended`` are the repairs of this case, each of which began a stage, ``earlier`` those
    before it.
    """

    looks: tuple[Look, ...]
    history: tuple[Look, ...]
    fitted: Mapping[str, bool]
    gone: frozenset[str]
    confirmed: str | None
    access: Mapping[str, bool]
    checks: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    vehicle: Vehicle = field(default_factory=Vehicle)
    mended: tuple[Mended, ...] = ()
    earlier: tuple[Earlier, ...] = ()

    @property
    def stage(self) -> int:
        """The present stage, from 1."""
        return 1 + len(self.mended)
