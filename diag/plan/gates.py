"""The first start after a repair, gate by gate: what was passed, what is next, what is locked and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diag.knowledge.types import Knowledge, StartGate
from diag.network.observations import Look, Observations

Standing = Literal["passed", "open", "stopped", "locked"]


@dataclass(frozen=True)
class GateNow:
    """A gate as it stands. seen: findings with the state seen; to_see: findings still to look at; why: in a sentence.

    bad: findings that stop the start here.
    """

    id: str
    name: str
    standing: Standing
    why: str
    seen: tuple[tuple[str, str], ...]
    to_see: tuple[str, ...]
    bad: tuple[str, ...]


def gates_now(knowledge: Knowledge, observations: Observations) -> tuple[GateNow, ...]:
    """Every gate in its order. A gate is locked while one before it is not passed, or something stops the start."""
    found: list[GateNow] = []
    stopped_by = ""
    for gate in sorted(knowledge.gates.values(), key=lambda gate: gate.place):
        now = _gate(knowledge, gate, observations, stopped_by)
        found.append(now)
        if not stopped_by and now.standing != "passed":
            stopped_by = now.name
    return tuple(found)


def stops(gates: Iterable[GateNow]) -> tuple[str, ...]:
    """Findings that forbid the start, or to go on with it."""
    return tuple(dict.fromkeys(finding for gate in gates for finding in gate.bad))


def _gate(knowledge: Knowledge, gate: StartGate, observations: Observations, stopped_by: str) -> GateNow:
    seen = {f: state for f in gate.passes if (state := _last(knowledge, gate, observations, f))}
    bad = tuple(f for f, state in seen.items() if state not in gate.passes[f])
    fresh = {look.finding for look in observations.looks if look.stage == observations.stage}
    to_see = tuple(f for f in gate.passes if f not in seen or f not in fresh)
    standing, why = _standing(knowledge, bad, seen, to_see, stopped_by)
    return GateNow(gate.id, gate.name, standing, why, tuple(seen.items()), to_see, bad)


def _standing(
    knowledge: Knowledge, bad: tuple[str, ...], seen: dict[str, str], to_see: tuple[str, ...], stopped_by: str
) -> tuple[Standing, str]:
    if bad:
        told = ", ".join(f"{knowledge.findings[f].name} ({f}={seen[f]})" for f in bad)
        return "stopped", f"No further while this stands: {told}. Put it right and look again."
    if stopped_by:
        return "locked", f"First: {stopped_by}."
    if to_see:
        return "open", f"Still to look at: {', '.join(knowledge.findings[f].name for f in to_see)}."
    return "passed", ""


def _last(knowledge: Knowledge, gate: StartGate, observations: Observations, finding: str) -> str:
    """The likeliest state by the last look that counts; empty where there is none."""
    told = [x for x in observations.looks if x.finding == finding and _counts(x, gate, observations.stage)]
    if not told:
        return ""
    return knowledge.findings[finding].states[int(np.argmax(told[-1].likelihood or ()))]


def _counts(look: Look, gate: StartGate, stage: int) -> bool:
    """A look of this stage; before the engine runs also an older one, for what it saw may be there still."""
    return look.likelihood is not None and look.trust > 0 and (look.stage == stage or not gate.running)
