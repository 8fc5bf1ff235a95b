"""One random case on a random base, asked in both ways."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import prod

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_cases import cases, knowledge_bases

from diag.network.case_network import CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis

CELLS = 2**17


@dataclass(frozen=True)
class Judged:
    """The fast answer and the slow one; ``without`` is the slow one with some of the evidence left out."""

    case: CaseNetwork
    fast: Diagnosis
    slow: Enumeration

    def without(self, findings: Iterable[str]) -> Enumeration:
        """All looks at these findings (the later ones are nodes FINDING~2 ...) are taken out of the evidence."""
        gone = set(findings)
        kept = {node: told for node, told in self.case.full_evidence().items() if node.split("~")[0] not in gone}
        return Enumeration(self.case.full_network(), kept)


@st.composite
def judged_cases(draw: st.DrawFn) -> Judged:
    knowledge = draw(knowledge_bases())
    case = compile_case(knowledge, draw(cases(knowledge)))
    network = case.full_network()
    assume(prod(network.card(node) for node in network) <= CELLS and len(case.causes) > 1)
    return Judged(case, Diagnosis(case), Enumeration(network, case.full_evidence()))


def decibans(after: tuple[float, float], before: tuple[float, float]) -> float:
    """Ten times the logarithm of a ratio of odds."""
    return float(10 * np.log10(after[0] * before[1] / (after[1] * before[0])))
