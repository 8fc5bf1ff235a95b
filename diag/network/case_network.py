"""Knowledge and what was observed, compiled to the Bayesian network of one case.

The list of likely causes is over the *initiating cause* C. Its states are the causes that apply, one residual
cause a mechanism (what no chapter lists) and ``nothing_wrong``. Given C = c, the fault c is there for certain,
every other fault with its small coexistence probability, independently. So P(e | C = c) = P(e | F_c) in the
*fault network*, which has no C: faults as independent roots. One propagation gives it for every c (see
diagnosis). ``full_network`` puts C back as a node, for export and for other engines.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.network.children import UNLISTED, YES_NO, Children
from diag.network.history import history_likelihoods, history_tables, likelihoods_by_fact
from diag.network.model import Network, Node, Table
from diag.network.observations import Look, Observations
from diag.network.readings import reading_evidence, reading_nodes
from diag.network.second_looks import later_looks, look_id
from diag.network.stages import Stage, first_stage, unroll

Array = npt.NDArray[np.float64]

NOTHING_WRONG = "nothing_wrong"
UNLISTED_ID = "unlisted"
TARGET = "initiating_cause"


@dataclass(frozen=True, eq=False)
class CaseNetwork:
    """The network of one case.

    causes: ids of listed and residual causes, in the order of the arrays; prior: shape (causes + 1,), adds up
    to 1, the last entry is ``nothing_wrong``; coexistence: shape (causes,); likelihood: evidence per node of
    ``faults``; history: shape (causes + 1,), P(history told | C); stages: which node stands for what in each
    stretch between repairs, the present one last; children: the gates that all stages share.
    """

    knowledge: Knowledge
    observations: Observations
    causes: tuple[str, ...]
    prior: Array
    coexistence: Array
    faults: Network
    likelihood: Mapping[str, Array]
    history: Array
    stages: tuple[Stage, ...]
    children: Children

    @property
    def states(self) -> tuple[str, ...]:
        """The states of the initiating cause."""
        return (*self.causes, NOTHING_WRONG)

    @cached_property
    def recorded(self) -> frozenset[str]:
        """Findings and history facts that have an answer, or can never have one."""
        told = {look.finding for look in self.observations.history}
        told |= {look.finding for look in self.observations.looks if self.node_of(look) == self.node(look.finding)}
        return frozenset(told) | self.observations.gone

    @property
    def now(self) -> Stage:
        """The present stage."""
        return self.stages[-1]

    def node(self, finding: str) -> str:
        """The node of a finding in the present stage."""
        return self.now.findings[finding]

    def node_of(self, look: Look) -> str:
        """The node of the finding that was looked at, in the stage in which it was."""
        return self.stages[look.stage - 1].findings[look.finding]

    def full_network(self) -> Network:
        """The same case with the initiating cause and the history facts as nodes."""
        target = Node(TARGET, self.states, (), Table(self.prior))
        faults = [
            Node(cause, YES_NO, (TARGET,), Table(_fault_table(len(self.states), i, self.coexistence[i])))
            for i, cause in enumerate(self.causes)
        ]
        rest = [node for node in self.faults.values() if node.id not in self.causes]
        return Network([target, *faults, *rest, *history_tables(self.knowledge, self.states, TARGET)])

    def full_evidence(self) -> dict[str, Array]:
        """Evidence for ``full_network``: likelihoods per node."""
        copies = self.knowledge.model["second_look_copies"].value.value
        return {**self.likelihood, **likelihoods_by_fact(self.observations.history, copies)}


def compile_case(knowledge: Knowledge, observations: Observations, children: Children | None = None) -> CaseNetwork:
    """Compile a case. Causes whose fittings the vehicle lacks are left out; fittings not told weigh them.

    children: those of another compile of the same vehicle.
    """
    weights = _weights(knowledge, observations.fitted)
    names = tuple(weights)
    values = np.array([weights[name] for name in names])
    nothing = knowledge.model["share_without_fault"].value.value
    prior = np.append(values, nothing) / (values.sum() + nothing)
    coexistence = knowledge.model["coexistence"].value.value * values / values.sum()
    nodes = [Node(c, YES_NO, (), Table(np.array([1 - q, q]))) for c, q in zip(names, coexistence, strict=True)]
    children = children or Children(knowledge, frozenset(names))
    stages = _unrolled(children, names, observations, nodes)
    likelihood, second_looks = _evidence(knowledge, observations, stages, nodes)
    looks = _look_nodes(observations.looks, stages)
    return CaseNetwork(
        knowledge=knowledge,
        observations=observations,
        causes=names,
        prior=prior,
        coexistence=coexistence,
        faults=Network([*nodes, *second_looks, *reading_nodes(observations, looks)]),
        likelihood={**likelihood, **reading_evidence(observations, looks)},
        history=history_likelihoods(knowledge, (*names, NOTHING_WRONG), observations.history),
        stages=stages,
        children=children,
    )


def _unrolled(
    children: Children, causes: tuple[str, ...], observations: Observations, nodes: list[Node]
) -> tuple[Stage, ...]:
    """All stages; their nodes are added to ``nodes``."""
    first, shown = first_stage(children, causes, observations)
    nodes += shown
    stages, added = unroll(children, first, shown, observations)
    nodes += added
    return stages


def _weights(knowledge: Knowledge, fitted: Mapping[str, bool]) -> dict[str, float]:
    """Weight of every cause that can apply to this vehicle, residual causes last."""
    weights = {}
    for cause in knowledge.causes.values():
        share = _share(knowledge, cause.fitted, fitted) * _share(knowledge, cause.not_fitted, fitted, lacking=True)
        if cause.weight.value * share > 0:
            weights[cause.id] = cause.weight.value * share
    for effect in knowledge.effects.values():
        if effect.residual is not None and effect.residual.value > 0:
            weights[UNLISTED + effect.id] = effect.residual.value
    return weights


def _share(knowledge: Knowledge, fittings: Iterable[str], told: Mapping[str, bool], *, lacking: bool = False) -> float:
    share = 1.0
    for fitting in fittings:
        has = float(told[fitting]) if fitting in told else knowledge.fittings[fitting].share.value
        share *= 1 - has if lacking else has
    return share


def _evidence(
    knowledge: Knowledge, observations: Observations, stages: tuple[Stage, ...], nodes: Iterable[Node]
) -> tuple[dict[str, Array], list[Node]]:
    """Likelihoods per node, and the nodes that second looks need."""
    first = {node.id: node for node in nodes}
    likelihood = _earlier(observations, first)
    extra: list[Node] = []
    copies = knowledge.model["second_look_copies"].value.value
    for finding, looks in _told_by_node(observations.looks, stages).items():
        likelihood[finding] = looks[0]
        if len(looks) > 1:
            extra += later_looks(first[finding], len(looks), copies)
            likelihood |= {look_id(finding, n): look for n, look in enumerate(looks[1:], start=2)}
    return likelihood, extra


def _earlier(observations: Observations, nodes: Mapping[str, Node]) -> dict[str, Array]:
    """What repairs before the case say of the faults that they should have ended."""
    told: dict[str, Array] = {}
    for repair in observations.earlier:
        for fault, weight in repair.likelihood.items():
            if fault in nodes:
                there = np.full(len(nodes[fault].states), weight)
                there[0] = 1.0
                told[fault] = told.get(fault, 1.0) * there
    return told


def _look_nodes(looks: Iterable[Look], stages: tuple[Stage, ...]) -> dict[int, str]:
    """The node of every look by its entry: the finding's own, or that of a further look at it."""
    found: dict[int, str] = {}
    count: dict[str, int] = {}
    for look in looks:
        if look.likelihood is not None:
            node = stages[look.stage - 1].findings[look.finding]
            count[node] = count.get(node, 0) + 1
            found[look.entry] = node if count[node] == 1 else look_id(node, count[node])
    return found


def _told_by_node(looks: Iterable[Look], stages: tuple[Stage, ...]) -> dict[str, list[Array]]:
    found: dict[str, list[Array]] = {}
    for look in looks:
        if look.likelihood is not None:
            node = stages[look.stage - 1].findings[look.finding]
            told = np.ones(len(look.likelihood)) if look.instruments else np.array(look.likelihood)
            found.setdefault(node, []).append(told)
    return dict(sorted(found.items()))


def _fault_table(states: int, own: int, coexistence: float) -> Array:
    """P(fault | C): certain where C is this fault, else its coexistence; shape (states of C, 2)."""
    yes = np.full(states, coexistence)
    yes[own] = 1.0
    return np.stack([1 - yes, yes], axis=1)
