"""How far an answer may be trusted, from the circumstances under which the person looked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from diag.case.entry import UNKNOWN
from diag.knowledge.types import Knowledge

NOT = "not_"
TRUST_MET = 1.0
TRUST_UNKNOWN = 0.3  # judgement: some of those who cannot say did look under the right circumstance
TRUST_CONTRADICTED = 0.0

# What cannot hold at the same moment. Access steps that conflict (access.yaml) are taken besides.
OPPOSITES = (
    ("cold", "hot"),
    ("cold", "warm"),
    ("overnight_cold", "hot"),
    ("overnight_cold", "warm"),
    ("stopped", "running"),
    ("stopped", "idle"),
    ("stopped", "load"),
    ("standing", "load"),
    ("standing", "driven"),
    ("idle", "load"),
)

# What was told -> a condition that it meets, although as access steps the two conflict.
MEETS = frozenset({("hot", "warm"), ("driven", "warm"), ("driven", "hot"), ("driven", "running")})


@dataclass(frozen=True, slots=True)
class Circumstances:
    """The words a person may say after "when", and which pairs of them exclude each other."""

    words: frozenset[str]
    opposites: frozenset[frozenset[str]]

    @classmethod
    def of(cls, knowledge: Knowledge) -> Self:
        """Those of a knowledge base, and the ones that every base shares."""
        steps = knowledge.access.values()
        pairs = [*OPPOSITES, *((step.id, other) for step in steps for other in step.conflicts)]
        conditions = (word for finding in knowledge.findings.values() for word in finding.condition)
        words = {UNKNOWN, *knowledge.access, *conditions, *(word for pair in pairs for word in pair)}
        negated = {NOT + word for word in words if word != UNKNOWN and not word.startswith(NOT)}
        return cls(frozenset(words | negated), frozenset(frozenset(pair) for pair in pairs))

    def trust(self, told: Iterable[str], condition: Iterable[str]) -> float:
        """Between 0 and 1. Nothing ``told``: the question states its condition, so it counts as met."""
        told, condition = tuple(told), tuple(condition)
        if any(self._excludes(one, wanted) for one in told for wanted in condition):
            return TRUST_CONTRADICTED
        return TRUST_UNKNOWN if condition and UNKNOWN in told else TRUST_MET

    def _excludes(self, told: str, wanted: str) -> bool:
        if told == NOT + wanted or wanted == NOT + told:
            return True
        return frozenset((told, wanted)) in self.opposites and (told, wanted) not in MEETS
