"""Whether to stop testing: sure enough, nothing left that tells, or no test worth its cost for the decision at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diag.network.diagnosis import Diagnosis
from diag.network.leader import leading
from diag.plan.proposal import Proposal
from diag.plan.repair_cost import RepairCosts
from diag.plan.settings import Settings

UNEXPLAINED = 0.5  # a finding that more probably than not nothing known is behind


@dataclass(frozen=True)
class Stop:
    """Whether to stop testing, and why; ``unexplained``: findings that nothing known explains, by probability."""

    advised: bool
    why: str
    unexplained: tuple[str, ...] = ()


def stop_or_not(diagnosis: Diagnosis, settings: Settings, repairs: RepairCosts, open_acts: Sequence[Proposal]) -> Stop:
    """Advice for the person; the ranking goes on whatever it says."""
    told = diagnosis.unexplained()
    unexplained = tuple(sorted((f for f, p in told.items() if p > UNEXPLAINED), key=lambda f: -told[f]))
    leader, certainty = leading(diagnosis, diagnosis.posterior)
    if certainty >= settings.certainty:
        why = f"{leader} is likelier than the certainty wanted ({settings.certainty:g})"
        return Stop(True, why, unexplained)
    if not open_acts:
        return Stop(True, "no open question or test would still tell enough", unexplained)
    if not any(act.saves > act.cost for act in open_acts):
        cost = float(repairs.expected(diagnosis.posterior))
        why = f"no single test or question saves more than it costs; repair and see is expected to cost {cost:.0f}"
        return Stop(True, why, unexplained)
    return Stop(False, "", unexplained)
