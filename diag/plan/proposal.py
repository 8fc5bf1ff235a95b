"""A question or a test as it is proposed: what it tells, what it costs, and what may come out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.leader import leading
from diag.plan.access import Way


@dataclass(frozen=True)
class OutcomePreview:
    """One joint outcome: states by finding, its probability, and who would lead after it, how surely."""

    findings: Mapping[str, str]
    probability: float
    leader: str
    leader_probability: float


@dataclass(frozen=True)
class Proposal:
    """What a question or a test tells, what it costs from here, and what may come out.

    harm: price of what it may break, in ``cost``. saves: what it takes off the expected cost of repair, its own
    cost not counted. beside: tests that need nothing more taken off once this one's access is reached.
    """

    id: str
    name: str
    gain_bits: float
    cost: float
    score: float
    minutes: float
    money: float
    waiting: float
    way: Way
    outcomes: tuple[OutcomePreview, ...]
    harm: float = 0.0
    saves: float = 0.0
    beside: tuple[str, ...] = ()


def previews(diagnosis: Diagnosis, outcome: Outcomes) -> Iterator[OutcomePreview]:
    """Every joint outcome that can come, the likeliest first."""
    knowledge = diagnosis.case.knowledge
    states = [(knowledge.findings.get(f) or knowledge.history[f]).states for f in outcome.findings]
    flat = outcome.joint.reshape(outcome.joint.shape[0], -1)
    chance = flat.sum(0)
    shape = outcome.joint.shape[1:]
    for place in np.argsort(-chance, kind="stable").tolist():
        if chance[place] > 0:
            seen = np.unravel_index(place, shape)
            leader, probability = leading(diagnosis, flat[:, place] / chance[place])
            yield OutcomePreview(
                {f: s[int(i)] for f, s, i in zip(outcome.findings, states, seen, strict=True)},
                float(chance[place]),
                leader,
                probability,
            )
