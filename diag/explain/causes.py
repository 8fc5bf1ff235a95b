"""The list of likely causes of a case, as data for the screen and for JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import log2

from diag.knowledge.types import Knowledge
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis
from diag.text import html_table, text_table

# A finding is called unexplained where it is likelier than not that nothing known stands behind it.
UNEXPLAINED = 0.5
PRINTED = 8  # causes shown at a prompt or in a notebook


@dataclass(frozen=True)
class LikelyCause:
    """A cause and its probability; ``by_mechanism`` parts the unlisted ones.

    ``why``: after a repair, from where it is there now, in parts that add up to its probability.
    """

    id: str
    name: str
    probability: float
    by_mechanism: Mapping[str, float] = field(default_factory=dict)
    why: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Present:
    """A fault or a damage and the probability that it is there. ``degrees`` where it has more than two states."""

    id: str
    name: str
    probability: float
    degrees: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class CauseList:
    """What the evidence says about the causes.

    causes: sorted, adding up to 1, ``unlisted`` and ``nothing_wrong`` among them. also_present: every fault, as
    the initiating one or beside it. log2_evidence: log2 P(e). idle_share: part of the answer in which the cause
    explains nothing of what was recorded. unexplained: findings that likelier than not have nothing known behind
    them. method: exact, or handed_on where stages were begun from the marginals of the one before. neglected: bound on
    the probability mass left out; 0 where the answer is exact, None where there is no bound.
    """

    causes: tuple[LikelyCause, ...]
    also_present: tuple[Present, ...]
    damage: tuple[Present, ...]
    mechanisms: tuple[Present, ...]
    log2_evidence: float
    idle_share: float
    unexplained: Mapping[str, float]
    method: str = "exact"
    neglected: float | None = 0.0

    def __repr__(self) -> str:
        return text_table(self._caption, self._rows())

    def _repr_html_(self) -> str:
        return html_table(self._caption, ("cause", "probability", "id"), self._rows())

    @property
    def _caption(self) -> str:
        return f"likely causes, the first {min(PRINTED, len(self.causes))} of {len(self.causes)}"

    def _rows(self) -> list[tuple[str, str, str]]:
        return [(cause.name, f"{cause.probability:.2f}", cause.id) for cause in self.causes[:PRINTED]]


def likely_causes(diagnosis: Diagnosis) -> CauseList:
    """The answer to "what is it?". Raises ImpossibleEvidence."""
    knowledge = diagnosis.case.knowledge
    return CauseList(
        causes=_causes(diagnosis, knowledge),
        also_present=_by_probability(
            Present(cause, knowledge.causes[cause].name, p)
            for cause, p in diagnosis.also_present().items()
            if cause in knowledge.causes
        ),
        damage=_effects(diagnosis, "damage"),
        mechanisms=_effects(diagnosis, "mechanism"),
        log2_evidence=log2(diagnosis.probability_of_evidence),
        idle_share=diagnosis.idle_share,
        unexplained={f: p for f, p in diagnosis.unexplained().items() if p > UNEXPLAINED},
        method=diagnosis.method,
        neglected=0.0 if diagnosis.method == "exact" else None,
    )


def _causes(diagnosis: Diagnosis, knowledge: Knowledge) -> tuple[LikelyCause, ...]:
    found = []
    unlisted: dict[str, float] = {}
    for state, p in zip(diagnosis.states, diagnosis.posterior.tolist(), strict=True):
        if state == NOTHING_WRONG:
            found.append(LikelyCause(state, "nothing is wrong (false alarm)", p))
        elif state in knowledge.causes or state in knowledge.effects:
            entry = knowledge.causes.get(state) or knowledge.effects[state]
            found.append(LikelyCause(state, entry.name, p, why=diagnosis.reasons.get(state, {})))
        else:
            unlisted[state.removeprefix(UNLISTED)] = p
    found.append(
        LikelyCause(UNLISTED_ID, "a cause that is not in the knowledge base", sum(unlisted.values()), unlisted)
    )
    return tuple(sorted(found, key=lambda cause: (-cause.probability, cause.id)))


def _effects(diagnosis: Diagnosis, kind: str) -> tuple[Present, ...]:
    found = []
    for effect, p in diagnosis.effects().items():
        entry = diagnosis.case.knowledge.effects[effect]
        if entry.kind == kind:
            degrees = dict(zip(entry.states, p.tolist(), strict=True)) if len(entry.states) > 2 else {}
            found.append(Present(effect, entry.name, float(p[1:].sum()), degrees))
    return _by_probability(found)


def _by_probability(found: Iterable[Present]) -> tuple[Present, ...]:
    return tuple(sorted(found, key=lambda present: (-present.probability, present.id)))
