"""Small random networks of every kind of gate, each with its tables worked out from what the gate means."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from oracle.meaning import counting_table, max_table, stopped_table

from diag.network.gates import Gate, k_of_n, noisy_and, noisy_max, noisy_or, stopped
from diag.network.model import Network, Node, Table

# Nought and one are common in real bases and are where a signed sum can go wrong.
chances = st.one_of(st.sampled_from([0.0, 1.0, 0.5, 0.01, 0.95]), st.floats(0.001, 0.999))
likelihoods = st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0.01, 1.0))
Told = Mapping[str, "str | tuple[float, ...]"]


@dataclass(frozen=True)
class Drawn:
    """A network, and the tables that its gates stand for."""

    network: Network
    tables: Mapping[str, np.ndarray]

    def __repr__(self) -> str:
        return "".join(f"\n{n.id}{n.states} | {n.parents}: {self.tables[n.id].tolist()}" for n in self.network.values())


@st.composite
def networks(draw: st.DrawFn, most: int = 7) -> Drawn:
    """Two to ``most`` nodes of two to four states with up to four parents each."""
    nodes: dict[str, Node] = {}
    tables: dict[str, np.ndarray] = {}
    for number in range(draw(st.integers(2, most))):
        name = f"n{number}"
        parents = draw(st.lists(st.sampled_from(list(nodes)), unique=True, max_size=4)) if nodes else []
        local, tables[name] = draw(local_distributions([len(nodes[p].states) for p in parents]))
        states = tuple(f"s{i}" for i in range(tables[name].shape[-1]))
        nodes[name] = Node(name, states, tuple(parents), local)
    return Drawn(Network(nodes.values()), tables)


@st.composite
def local_distributions(draw: st.DrawFn, shapes: list[int]) -> tuple[Table | Gate, np.ndarray]:
    """A local distribution over parents with these numbers of states, and the table it means."""
    kinds = ["table", "max", "or", "and", "count", "inhibit"]
    kind = draw(st.sampled_from(kinds if shapes else kinds[:3]))
    if kind == "or":
        return _or(draw, shapes)
    if kind in ("and", "count"):
        return _counting(draw, kind, shapes)
    states = draw(st.integers(2, 4))
    if kind == "table":
        values = draw(rows((*shapes, states)))
        return Table(values), values
    return _max(draw, kind, shapes, states)


def _or(draw: st.DrawFn, shapes: list[int]) -> tuple[Gate, np.ndarray]:
    """The plain noisy-OR where all parents have two states, else its form for parents with degrees."""
    leak = draw(chances)
    if all(states == 2 for states in shapes):
        links = [draw(chances) for _ in shapes]
        strengths = [np.array([[1.0, 0.0], [1 - s, s]]) for s in links]
        return noisy_or(links, leak), max_table(strengths, np.array([1 - leak, leak]))
    strengths = [draw(rows((states, 2))) for states in shapes]
    leaks = np.array([1 - leak, leak])
    return noisy_max(strengths, leaks), max_table(strengths, leaks)


def _counting(draw: st.DrawFn, kind: str, shapes: list[int]) -> tuple[Table | Gate, np.ndarray]:
    acts = [np.array([draw(chances) for _ in range(states)]) for states in shapes]
    leak = draw(chances)
    if kind == "and":
        return noisy_and(acts, leak), counting_table(len(acts), acts, leak)
    needed = draw(st.integers(1, len(acts)))
    return Table(k_of_n(needed, acts, leak)), counting_table(needed, acts, leak)


def _max(draw: st.DrawFn, kind: str, shapes: list[int], states: int) -> tuple[Gate, np.ndarray]:
    strengths = [draw(rows((parent, states))) for parent in shapes]
    leak = draw(rows((states,)))
    if kind == "max":
        return noisy_max(strengths, leak), max_table(strengths, leak)
    acting = len(shapes) - draw(st.integers(1, min(2, len(shapes))))
    lets = [np.array([draw(chances) for _ in range(parent)]) for parent in shapes[acting:]]
    gate, table = (noisy_max(strengths[:acting], leak), max_table(strengths[:acting], leak))
    if draw(st.booleans()) and states == 2:
        acts = [strength[:, 1] for strength in strengths[:acting]]
        gate, table = noisy_and(acts, leak[1]), counting_table(len(acts), acts, leak[1])
    wide = np.broadcast_to(table.reshape(*shapes[:acting], *(1 for _ in lets), states), (*shapes, states))
    return stopped(gate, lets), stopped_table(wide, list(enumerate(lets, start=acting)))


@st.composite
def rows(draw: st.DrawFn, shape: tuple[int, ...]) -> np.ndarray:
    """Distributions along the last axis, some with noughts and some certain."""
    numbers = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    values = numbers.gamma(0.7, size=shape)
    if draw(st.booleans()):
        values = values * (numbers.random(shape) > 0.4)
    values[values.sum(-1) <= 0] = np.eye(shape[-1])[0]
    return values / values.sum(-1, keepdims=True)


@st.composite
def evidence(draw: st.DrawFn, drawn: Drawn, most: int = 4) -> Told:
    """Hard answers and likelihoods on some nodes."""
    told: dict[str, str | tuple[float, ...]] = {}
    for node in draw(st.lists(st.sampled_from(list(drawn.network)), unique=True, max_size=most)):
        states = drawn.network[node].states
        soft = st.tuples(*(likelihoods for _ in states)).filter(any)
        told[node] = draw(st.one_of(st.sampled_from(states), soft))
    return told


def some_nodes(drawn: Drawn, most: int) -> st.SearchStrategy[list[str]]:
    """One to ``most`` nodes of the network."""
    return st.lists(st.sampled_from(list(drawn.network)), unique=True, min_size=1, max_size=most)
