"""The most probable explanations of a whole case, each with another initiating cause, exactly.

An explanation says of every cause and effect that bears on the evidence whether it is there; findings are summed out.
Gates over all causes are too wide to be written out as the maximum wants them. But a second fault beside the
initiating cause is rare: for most of them it is proved beforehand, in two ways, that no best explanation holds them.
They are fixed to "not there", and what is left is small.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from diag.network.case_network import CaseNetwork
from diag.network.diagnosis import Diagnosis
from diag.network.explanation import most_probable_explanation
from diag.network.factors import relevant_nodes
from diag.network.gates import Gate
from diag.network.model import Node
from diag.network.pinned import pinned

Array = npt.NDArray[np.float64]

# So many faults beside a cause are tried before all that may be there.
FEW = 8
# A bound that is met by less than rounding proves nothing.
ROUNDING = 1e-9


@dataclass(frozen=True)
class Explanation:
    """cause: a state of the initiating cause. beside: further faults. effects: those there, with their states, causes
    before effects. probability: of all of it together, given the evidence.
    """

    cause: str
    beside: tuple[str, ...]
    effects: Mapping[str, str]
    probability: float


class Explanations:
    """Best explanations of one case. Raises ImpossibleEvidence."""

    def __init__(self, diagnosis: Diagnosis) -> None:
        self.diagnosis = diagnosis
        self.case: CaseNetwork = diagnosis.case
        self.relevant = relevant_nodes(self.case.faults, self.case.likelihood, ())
        self.faults = [cause for cause in self.case.causes if cause in self.relevant]
        self.summed = [node for node in self.relevant if self._is_observed(node)]

    def best(self, count: int) -> tuple[Explanation, ...]:
        """The best explanation, and the next ones that really differ: in none is an initiating cause of a better one.

        Fewer than ``count`` where no others are possible. Raises GateTooWide, CliqueTooLarge.
        """
        found: list[Explanation] = []
        while len(found) < count:
            best = self._best_without(frozenset(e.cause for e in found))
            if best is None or not best.probability > 0:
                break
            found.append(best)
        return tuple(found)

    def with_cause(self, cause: str, without: frozenset[str] = frozenset()) -> Explanation:
        """The best explanation with this initiating cause in which certain faults are not there.

        The better the best one so far, the fewer faults may stand beside the cause in a better one: while there are
        many, the likeliest few of them are tried first. Raises GateTooWide, CliqueTooLarge.
        """
        best = self._best_with(cause, ())
        while True:
            may_be = tuple(f for f in self._may_be_beside(cause, best.probability) if f not in without)
            some = self._likeliest(cause, may_be)
            better = self._best_with(cause, some) if may_be else best
            if some == may_be or not better.probability > best.probability:
                last = better if some == may_be else self._best_with(cause, may_be)
                return max(best, last, key=lambda explanation: explanation.probability)
            best = better

    def _likeliest(self, cause: str, faults: tuple[str, ...]) -> tuple[str, ...]:
        """The likeliest few of these faults beside the cause, in the order of the base."""
        place = self.case.states.index(cause)
        ranked = sorted(faults, key=lambda fault: -self._together[fault][place])[:FEW]
        return tuple(fault for fault in faults if fault in ranked)

    def _best_without(self, without: frozenset[str]) -> Explanation | None:
        """The probability of a cause bounds that of each of its explanations: most causes need not be looked at."""
        posterior, best = self.diagnosis.posterior, None
        for place in np.argsort(-posterior, kind="stable").tolist():
            if best is not None and posterior[place] <= best.probability:
                break
            cause = self.case.states[place]
            if cause not in without:
                found = self.with_cause(cause, without)
                best = found if best is None or found.probability > best.probability else best
        return best

    @cache  # noqa: B019 (lives as long as one answer)
    def _best_with(self, cause: str, beside: tuple[str, ...]) -> Explanation:
        """The best one in which no other faults than these stand beside the cause."""
        fixed = {fault: int(fault == cause) for fault in self.faults if fault not in beside}
        likelihood = {n: told for n, told in self.case.likelihood.items() if n not in fixed}
        narrow = pinned(self.case.faults, fixed)
        states, value = most_probable_explanation(narrow, likelihood, summed=self.summed)
        there = {node: state for node, state in states.items() if state != self.case.faults[node].states[0]}
        place = self.case.states.index(cause)
        weight = self.case.prior[place] * self.case.history[place] / self.diagnosis.probability_of_evidence
        return Explanation(
            cause=cause,
            beside=tuple(fault for fault in beside if fault in there),
            effects={node: state for node, state in there.items() if node not in beside},
            probability=float(value * weight * self._price(cause, fixed)),
        )

    def _price(self, cause: str, fixed: Mapping[str, int]) -> float:
        """The probability that the fixed faults are as they are, given the cause, times what was told of them."""
        price = 1.0
        for fault, state in fixed.items():
            chance = 1.0 if fault == cause else 1.0 - self._coexistence[fault]
            told = self.case.likelihood.get(fault)
            price *= chance * (1.0 if told is None else float(told[state]))
        return price

    def _may_be_beside(self, cause: str, least: float) -> tuple[str, ...]:
        """Faults of which it is not proved that no best explanation with this cause holds them.

        P(cause, fault | e) bounds every explanation with both, and a fault that can never pay its price goes.
        """
        place = self.case.states.index(cause)
        return tuple(
            fault
            for fault in self.faults
            if fault != cause and self._together[fault][place] > least * (1 - ROUNDING) and self._can_pay(cause, fault)
        )

    def _can_pay(self, cause: str, fault: str) -> bool:
        chance = self._coexistence[fault]
        gain = chance / (1.0 - chance)
        for child in self.case.faults.children[fault]:
            if child in self.relevant:
                gain *= max(1.0, most_raised(self.case.faults[child], fault, cause))
        return gain >= 1 - ROUNDING

    @cached_property
    def _together(self) -> dict[str, Array]:
        """P(C, fault there | e) of every fault that bears on the evidence, shape (states of C,)."""
        outcomes = self.diagnosis.outcomes({fault: (fault,) for fault in self.faults})
        return {fault: outcome.joint[:, 1] for fault, outcome in outcomes.items()}

    @cached_property
    def _coexistence(self) -> dict[str, float]:
        return dict(zip(self.case.causes, self.case.coexistence.tolist(), strict=True))

    def _is_observed(self, node: str) -> bool:
        """A finding, or a helper of one (its second looks, its readings and their errors)."""
        return "~" in node or node in self.case.knowledge.findings


def most_raised(node: Node, parent: str, cause: str) -> float:
    """By how much this parent can raise the probability of any state of a node at most, ``cause`` being there.

    In a noisy-MAX that is most where no other parent acts: the more act, the less one more does. Any other gate is not
    bounded here.
    """
    gate = node.local
    if not isinstance(gate, Gate) or not _is_noisy_max(gate):
        return float("inf")
    parts = dict(zip(node.parents, gate.parts, strict=True))
    base = np.diag(gate.mix) * (parts[cause][1] if cause in parts else 1.0)
    raised = parts[parent][1]
    return max(_raises(base, raised), default=1.0)


def _raises(base: Array, raised: Array) -> Iterator[float]:
    """Of every state: P(state with the parent acting) / P(state without); both cumulative over the states."""
    below = np.concatenate([[0.0], base[:-1]])
    for with_it, without in zip(np.diff(base * raised, prepend=0.0), base - below, strict=True):
        if without > 0:
            yield float(with_it / without)
        elif with_it > 0:
            yield float("inf")


def _is_noisy_max(gate: Gate) -> bool:
    """Whether the gate has the form that ``noisy_max`` gives it, every parent's first state doing nothing."""
    cumulative = np.diag(gate.mix)
    form = np.diag(cumulative)
    form[np.arange(1, len(form)), np.arange(len(form) - 1)] = -cumulative[:-1]
    if gate.mix.shape != form.shape or not np.array_equal(gate.mix, form):
        return False
    return all(bool(np.all(part[0] == 1.0) and _grows(part)) for part in gate.parts)


def _grows(rows: Iterable[Array]) -> bool:
    return all(bool(np.all(np.diff(row) >= 0)) for row in rows)
