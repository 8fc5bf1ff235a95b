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

from diag.knowledge.types import Cause, Effect, Finding, Knowledge, Link, Number
from diag.network.gates import Gate, k_of_n, noisy_and, noisy_max, stopped, stopped_table
from diag.network.history import history_likelihoods, history_tables, likelihoods_by_fact
from diag.network.model import Network, Node, Table
from diag.network.observations import Look, Observations
from diag.network.readings import reading_evidence, reading_nodes
from diag.network.second_looks import later_looks, look_id

Array = npt.NDArray[np.float64]

NOTHING_WRONG = "nothing_wrong"
UNLISTED = "unlisted_"
UNLISTED_ID = "unlisted"
TARGET = "initiating_cause"
YES_NO = ("no", "yes")


@dataclass(frozen=True)
class Parent:
    """One arc into an effect or a finding: who, with which states, and with which strengths."""

    id: str
    states: tuple[str, ...]
    strengths: Mapping[str, Mapping[str, Number]]


@dataclass(frozen=True, eq=False)
class CaseNetwork:
    """The network of one case.

    causes: ids of listed and residual causes, in the order of the arrays; prior: shape (causes + 1,), adds up
    to 1, the last entry is ``nothing_wrong``; coexistence: shape (causes,); likelihood: evidence per node of
    ``faults``; history: shape (causes + 1,), P(history told | C).
    """

    knowledge: Knowledge
    observations: Observations
    causes: tuple[str, ...]
    prior: Array
    coexistence: Array
    faults: Network
    likelihood: Mapping[str, Array]
    history: Array

    @property
    def states(self) -> tuple[str, ...]:
        """The states of the initiating cause."""
        return (*self.causes, NOTHING_WRONG)

    @cached_property
    def recorded(self) -> frozenset[str]:
        """Findings and history facts that have an answer, or can never have one."""
        looks = (*self.observations.looks, *self.observations.history)
        return frozenset(look.finding for look in looks) | self.observations.gone

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


def compile_case(knowledge: Knowledge, observations: Observations) -> CaseNetwork:
    """Compile a case. Causes whose fittings the vehicle lacks are left out; fittings not told weigh them."""
    weights = _weights(knowledge, observations.fitted)
    names = tuple(weights)
    values = np.array([weights[name] for name in names])
    nothing = knowledge.model["share_without_fault"].value.value
    prior = np.append(values, nothing) / (values.sum() + nothing)
    coexistence = knowledge.model["coexistence"].value.value * values / values.sum()
    nodes = [Node(c, YES_NO, (), Table(np.array([1 - q, q]))) for c, q in zip(names, coexistence, strict=True)]
    nodes += _child_nodes(knowledge, frozenset(names), observations)
    likelihood, second_looks = _evidence(knowledge, observations, nodes)
    return CaseNetwork(
        knowledge=knowledge,
        observations=observations,
        causes=names,
        prior=prior,
        coexistence=coexistence,
        faults=Network([*nodes, *second_looks, *reading_nodes(observations)]),
        likelihood={**likelihood, **reading_evidence(observations)},
        history=history_likelihoods(knowledge, (*names, NOTHING_WRONG), observations.history),
    )


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


def parents_of(knowledge: Knowledge) -> dict[str, list[Parent]]:
    """Every effect's and finding's parents, in the order of the base: causes, then effects."""
    found: dict[str, list[Parent]] = {}
    entries: list[Cause | Effect] = [*knowledge.causes.values(), *knowledge.effects.values()]
    for entry in entries:
        links: tuple[Link, ...] = (*entry.leads_to, *entry.shows)
        for link in links:
            found.setdefault(link.child, []).append(Parent(entry.id, entry.states, link.strengths))
    for effect in knowledge.effects.values():
        if effect.residual is not None:
            strength = {"yes": {effect.states[1]: knowledge.model["strength_of_unlisted"].value}}
            found.setdefault(effect.id, []).append(Parent(UNLISTED + effect.id, YES_NO, strength))
    return found


def _child_nodes(knowledge: Knowledge, causes: frozenset[str], observations: Observations) -> list[Node]:
    parents = parents_of(knowledge)
    complaints = {look.finding for look in observations.looks if look.complaint}
    factor = knowledge.model["complaint_false_alarm"].value.value
    nodes = []
    for effect in knowledge.effects.values():
        apply = _applying(parents.get(effect.id, []), causes, knowledge)
        nodes.append(_effect_node(effect, apply, knowledge))
    for finding in knowledge.findings.values():
        apply = _applying(parents.get(finding.id, []), causes, knowledge)
        leak = _leak(finding.states, finding.false_alarm, factor if finding.id in complaints else 1.0)
        nodes.append(_finding_node(finding, apply, noisy_max([_strength(p, finding.states) for p in apply], leak)))
    return nodes


def _applying(parents: Iterable[Parent], causes: frozenset[str], knowledge: Knowledge) -> list[Parent]:
    return [parent for parent in parents if parent.id in causes or parent.id in knowledge.effects]


def _effect_node(effect: Effect, parents: list[Parent], knowledge: Knowledge) -> Node:
    stoppers = [Parent(s, knowledge.effects[s].states, {}) for s in effect.inhibited_by]
    lets = [_lets_pass(stopper, effect.inhibited_by[stopper.id].value) for stopper in stoppers]
    names = tuple(parent.id for parent in (*parents, *stoppers))
    leak = _leak(effect.states, effect.leak)
    if effect.gate == "k_of_n":
        table = k_of_n(effect.k, [_acts(p) for p in parents], float(leak[1:].sum()))
        return Node(effect.id, effect.states, names, Table(stopped_table(table, lets)))
    if effect.gate == "and":
        gate = noisy_and([_acts(p) for p in parents], float(leak[1:].sum()))
    else:
        gate = noisy_max([_strength(p, effect.states) for p in parents], leak)
    return Node(effect.id, effect.states, names, stopped(gate, lets))


def _finding_node(entry: Finding, parents: list[Parent], gate: Gate) -> Node:
    return Node(entry.id, entry.states, tuple(p.id for p in parents), gate)


def _strength(parent: Parent, states: tuple[str, ...]) -> Array:
    """Shape (parent states, child states): the child's distribution while only this parent acts."""
    rows = np.zeros((len(parent.states), len(states)))
    for i, parent_state in enumerate(parent.states):
        for state, number in parent.strengths.get(parent_state, {}).items():
            rows[i, states.index(state)] = number.value
    rows[:, 0] = np.maximum(1.0 - rows[:, 1:].sum(1), 0.0)
    return rows


def _acts(parent: Parent) -> Array:
    """Shape (parent states,): the probability that this parent plays its part in an AND or k-of-n gate."""
    return np.array([sum(n.value for n in parent.strengths.get(s, {}).values()) for s in parent.states])


def _lets_pass(stopper: Parent, strength: float) -> Array:
    return np.array([1.0] + [1.0 - strength] * (len(stopper.states) - 1))


def _leak(states: tuple[str, ...], numbers: Mapping[str, Number], factor: float = 1.0) -> Array:
    leak = np.array([numbers[s].value * factor if s in numbers else 0.0 for s in states])
    leak[0] = 1.0 - leak[1:].sum()
    return leak


def _evidence(
    knowledge: Knowledge, observations: Observations, nodes: Iterable[Node]
) -> tuple[dict[str, Array], list[Node]]:
    """Likelihoods per node, and the nodes that second looks need."""
    likelihood: dict[str, Array] = {}
    extra: list[Node] = []
    first = {node.id: node for node in nodes}
    copies = knowledge.model["second_look_copies"].value.value
    for finding, looks in _told_by_finding(observations.looks).items():
        likelihood[finding] = looks[0]
        if len(looks) > 1:
            extra += later_looks(first[finding], len(looks), copies)
            likelihood |= {look_id(finding, n): look for n, look in enumerate(looks[1:], start=2)}
    return likelihood, extra


def _told_by_finding(looks: Iterable[Look]) -> dict[str, list[Array]]:
    found: dict[str, list[Array]] = {}
    for look in looks:
        if look.likelihood is not None:
            found.setdefault(look.finding, []).append(np.array(look.likelihood))
    return dict(sorted(found.items()))


def _fault_table(states: int, own: int, coexistence: float) -> Array:
    """P(fault | C): certain where C is this fault, else its coexistence; shape (states of C, 2)."""
    yes = np.full(states, coexistence)
    yes[own] = 1.0
    return np.stack([1 - yes, yes], axis=1)
