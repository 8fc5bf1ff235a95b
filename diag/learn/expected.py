"""What one case is expected to count for each link, given its evidence and its cause: the E step.

In a noisy-OR (noisy-MAX) every parent and the leak throw a state by themselves, and the highest comes. The throws are
hidden; here they are links of a chain, throw by throw, so that P(throw | evidence) comes out of one exact propagation.
Counted are the throws of the cause and of effects, and the false alarms of findings. What a second fault throws that
happens to be there as well is summed over, not counted. What brought the vehicle in is not counted either: it is told
because it is there, and every strength would look like one.

References
----------
Dempster, Laird, Rubin 1977, JRSS B 39, 1-38 (EM). Díez and Galán 2003, Int. J. Intelligent Systems 18 (noisy-MAX).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.network.case_network import CaseNetwork
from diag.network.factors import Factors, build
from diag.network.gates import Gate
from diag.network.model import Network, Node, Table
from diag.network.propagate import Propagation

Array = npt.NDArray[np.float64]


class Throw(NamedTuple):
    """Who throws what for whom: a parent in one of its states, or nobody, which is the false alarm."""

    child: str
    parent: str = ""
    state: str = ""


@dataclass
class Counts:
    """Expected throws by state of the child, shape (states,) each; ``evidence``: P(e | cause), history left out."""

    evidence: float = 0.0
    throws: dict[Throw, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class _Link:
    """One link of a chain. ``rows``: shape (parent states, child states), what the parent throws."""

    before: str
    parent: str
    after: str
    rows: Array


@dataclass(frozen=True)
class _Chain:
    """A gate as a chain. ``others``: cumulative, what the faults that were summed out throw together."""

    child: str
    links: tuple[_Link, ...]
    leak: Array
    others: Array


def expected(case: CaseNetwork, cause: str, apart: bool = False) -> Counts:
    """The counts of a case whose initiating cause is ``cause`` (``nothing_wrong`` too). Evidence 0: it cannot be.

    apart: a second fault that happens to be there as well acts on each of its children by itself. Some three times
    as fast, and off by as much as such a fault is likely; without it the counts are exact. Raises CliqueTooLarge.
    """
    told = {node: likelihood for node, likelihood in case.likelihood.items() if np.ptp(likelihood) > 0}
    flat = float(np.prod([likelihood[0] for node, likelihood in case.likelihood.items() if node not in told]))
    if cause in case.causes:
        told[cause] = np.array([0.0, 1.0])
    relevant = case.faults.ancestors(told)
    folded = _folded(case, cause, relevant, apart)
    chains: list[_Chain] = []
    nodes: list[Node] = []
    absent: list[Node] = []
    for node in case.faults.values():
        if node.id not in relevant or node.id in folded:
            continue
        gate, others = _narrowed(node, folded)
        if _is_absent_leaf(case, node.id, told):
            absent.append(Node(node.id, node.states, gate.parents, gate.local))
            nodes.append(absent[-1])
        elif _is_countable(case.knowledge, node.id):
            chain, links = _chained(gate, others)
            chains.append(chain)
            nodes += links
        else:
            nodes.append(gate)
    leaves = [chain.child for chain in chains]
    propagation = Propagation(build(Network(nodes), told, leaves))
    return _Reading(case, cause, propagation).counts(chains, absent, flat)


def _folded(case: CaseNetwork, cause: str, relevant: frozenset[str], apart: bool) -> dict[str, Array]:
    """The priors of faults beside the cause that are summed out by hand: all that matters below is one gate.

    apart: several gates will do, too.
    """
    found = {}
    for place, fault in enumerate(case.causes):
        below = [child for child in case.faults.children[fault] if child in relevant]
        gates = all(isinstance(case.faults[child].local, Gate) for child in below)
        if fault != cause and gates and (apart or len(below) == 1):
            found[fault] = np.array([1 - case.coexistence[place], case.coexistence[place]])
    return found


def _narrowed(node: Node, folded: Mapping[str, Array]) -> tuple[Node, Array]:
    """The node without its folded parents, and what these do together to each product, shape (products,)."""
    if not isinstance(node.local, Gate):
        return node, np.ones(len(node.states))
    gate = node.local
    others = np.ones(gate.mix.shape[1])
    for parent, part in zip(node.parents, gate.parts, strict=True):
        if parent in folded:
            others = others * (folded[parent] @ part)
    kept = [place for place, parent in enumerate(node.parents) if parent not in folded]
    narrow = Gate(gate.mix * others, tuple(gate.parts[place] for place in kept))
    return Node(node.id, node.states, tuple(node.parents[place] for place in kept), narrow), others


def _is_absent_leaf(case: CaseNetwork, node: str, told: Mapping[str, Array]) -> bool:
    """A finding surely seen in its ordinary state, with nothing below it that matters: nobody threw anything."""
    seen = node in case.knowledge.findings and node in told and not told[node][1:].any()
    return bool(seen and not case.faults.children[node])


def _is_countable(knowledge: Knowledge, node: str) -> bool:
    effect = knowledge.effects.get(node)
    return node in knowledge.findings or (effect is not None and effect.gate == "or" and not effect.inhibited_by)


def _chained(node: Node, others: Array) -> tuple[_Chain, list[Node]]:
    """The chain of a noisy-MAX: what leak and folded faults throw together, then one parent after the other."""
    assert isinstance(node.local, Gate)
    together = np.diag(node.local.mix)
    leak = np.diff(together / others, prepend=0.0)
    names = [f"{node.id}~{place}" for place in range(len(node.parents))] + [node.id]
    nodes = [Node(names[0], node.states, (), Table(np.clip(np.diff(together, prepend=0.0), 0.0, None)))]
    links = []
    for place, (parent, part) in enumerate(zip(node.parents, node.local.parts, strict=True)):
        rows = np.clip(np.diff(part, axis=1, prepend=0.0), 0.0, None)
        links.append(_Link(names[place], parent, names[place + 1], rows))
        table = _higher(rows).sum(2)
        nodes.append(Node(names[place + 1], node.states, (names[place], parent), Table(table)))
    return _Chain(node.id, tuple(links), np.clip(leak, 0.0, None), others), nodes


def _higher(rows: Array) -> Array:
    """P(throw, state after | state before, parent), shape (before, parent states, throw, after)."""
    states = rows.shape[1]
    table = np.zeros((states, rows.shape[0], states, states))
    for before in range(states):
        for throw in range(states):
            table[before, :, throw, max(before, throw)] = rows[:, throw]
    return table


class _Reading:
    """Counts read off a propagation."""

    def __init__(self, case: CaseNetwork, cause: str, propagation: Propagation) -> None:
        self.case, self.cause = case, cause
        self.factors: Factors = propagation.factors
        self.tree, self.messages = propagation.tree, propagation.messages
        self.cliques = {
            frozenset(scope): clique
            for (scope, _), clique in zip(self.factors.joint, self.tree.factor_clique, strict=True)
        }
        self.total = float(self.messages.product(len(self.tree.scopes) - 1).sum())
        self.complaints = {look.finding for look in case.observations.looks if look.complaint}

    def counts(self, chains: list[_Chain], absent: list[Node], flat: float) -> Counts:
        """flat: what the evidence that says nothing multiplies the rest by."""
        evidence = self.total * self.factors.constant * flat
        if self.cause in self.case.causes:
            evidence /= float(self.case.coexistence[self.case.causes.index(self.cause)])
        if not evidence > 0:
            return Counts()
        throws: dict[Throw, Array] = {}
        for chain in chains:
            if chain.child not in self.complaints:
                throws.update(self._of_chain(chain))
        for node in absent:
            if node.id not in self.complaints:
                throws.update(self._of_absent(node))
        return Counts(evidence, throws)

    def _of_chain(self, chain: _Chain) -> Iterator[tuple[Throw, Array]]:
        for link in chain.links:
            if self._counts_for(link.parent):
                believed = self._belief((link.before, link.parent, link.after))
                throws = _higher(link.rows)
                told = throws / np.maximum(throws.sum(2, keepdims=True), 1e-300)
                counts = np.einsum("bpa,bpta->pt", believed, told)
                yield from self._by_state(chain.child, link.parent, counts)
        if chain.child in self.case.knowledge.findings:
            first = chain.links[0].before if chain.links else chain.child
            yield Throw(chain.child), _leak_share(self._belief((first,)), chain)

    def _of_absent(self, node: Node) -> Iterator[tuple[Throw, Array]]:
        ordinary = np.eye(len(node.states))[0]
        for parent in node.parents:
            if self._counts_for(parent):
                yield from self._by_state(node.id, parent, np.outer(self._belief((parent,)), ordinary))
        yield Throw(node.id), ordinary

    def _by_state(self, child: str, parent: str, counts: Array) -> Iterator[tuple[Throw, Array]]:
        states = self.case.faults[parent].states
        for state, row in zip(states[1:], counts[1:], strict=True):
            yield Throw(child, parent, state), row

    def _counts_for(self, parent: str) -> bool:
        return (parent == self.cause and parent in self.case.knowledge.causes) or parent in self.case.knowledge.effects

    def _belief(self, nodes: tuple[str, ...]) -> Array:
        """P(nodes | e), one axis a node in the order given."""
        scope = tuple(self.factors.index[node] for node in nodes)
        clique = self.cliques[frozenset(scope)] if len(scope) > 1 else self.tree.home[scope[0]]
        part = tuple(v for v in self.tree.scopes[clique] if v in scope)
        table = self.messages.sum_to(clique, self.messages.product(clique), part)
        table = np.clip(table, 0.0, None).reshape([self.tree.cards[v] for v in part])
        return np.asarray(table.transpose([part.index(v) for v in scope]) / table.sum())


def _leak_share(believed: Array, chain: _Chain) -> Array:
    """P(the leak's own throw | e) from that of the leak and the folded faults together."""
    others = np.diff(chain.others, prepend=0.0)
    joint = np.zeros((len(believed),) * 2)
    for own, chance in enumerate(chain.leak):
        for other, beside in enumerate(others):
            joint[own, max(own, other)] += chance * beside
    return np.asarray(joint @ (believed / np.maximum(joint.sum(0), 1e-300)))
