"""One random case on a random base, asked in both ways."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import prod

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.knowledge import base, cause, effect, finding, look, seen
from oracle.random_cases import cases, knowledge_bases

from diag.measure.errors import NODES
from diag.network.case_network import CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis

CELLS = 2**17


@dataclass(frozen=True)
class Judged:
    """The fast answer and the slow one; ``without`` is the slow one with some of the evidence left out."""

    case: CaseNetwork
    fast: Diagnosis
    slow: Enumeration

    def __repr__(self) -> str:
        """Short: hypothesis warns of long ones."""
        return f"Judged({self.case.causes}, {self.case.observations})"

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


def read_by_one_instrument() -> Judged:
    """Two findings read with the same named instrument, whose error is hidden: they hang together by it."""
    knowledge = base(
        [cause("worn", 3.0, {"weak": 0.9}), cause("split", 2.0, shows={"one": 0.8})],
        [finding("one", {"yes": 0.1}), finding("two", {"yes": 0.05})],
        [effect("weak", {"yes": 0.05}, shows={"two": 0.7, "one": 0.3})],
    )
    numbers = np.random.default_rng(3)
    looks = [
        replace(
            look(name, (1.0, 1.0), entry=entry),
            instruments=("red gauge",),
            given_errors=tuple((0.05 + 0.9 * numbers.random(2 * len(NODES))).tolist()),
        )
        for entry, name in enumerate(("one", "two"), start=1)
    ]
    observed = seen(*looks)
    case = compile_case(knowledge, observed)
    return Judged(case, Diagnosis(case), Enumeration(case.full_network(), case.full_evidence()))


def decibans(after: tuple[float, float], before: tuple[float, float]) -> float:
    """Ten times the logarithm of a ratio of odds."""
    return float(10 * np.log10(after[0] * before[1] / (after[1] * before[0])))
