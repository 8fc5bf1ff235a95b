"""A chain with its links and with what was seen of it: what a picture of it needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diag.explain.chain import Chain, because
from diag.network.diagnosis import Diagnosis


@dataclass(frozen=True)
class Course:
    """Nodes that are out of the ordinary, parents first, each with its state; links from parent to child.

    ``cause`` is the first of them; further faults may stand beside it.
    """

    cause: str
    states: Mapping[str, str]
    links: tuple[tuple[str, str], ...]


def course_of(diagnosis: Diagnosis, chain: Chain) -> Course:
    """Every fault and effect of the chain, and every finding seen out of the ordinary that it brings about."""
    network = diagnosis.case.faults
    states = dict.fromkeys((chain.cause, *chain.beside), "yes") | {step.effect: step.state for step in chain.steps}
    links = [(parent, step.effect) for step in chain.steps for parent in step.because]
    there = {node: network[node].states.index(state) for node, state in states.items() if node in network}
    for finding, told in diagnosis.case.likelihood.items():
        node = network[finding]
        parents = because(node, there) if int(np.argmax(told)) > 0 and "~" not in finding else ()
        if parents:
            states[finding] = node.states[int(np.argmax(told))]
            links += [(parent, finding) for parent in parents]
    return Course(chain.cause, states, _without_shortcuts(links))


def _without_shortcuts(links: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """The links that no longer way says already (transitive reduction of an acyclic graph)."""
    children: dict[str, list[str]] = {}
    for parent, child in links:
        children.setdefault(parent, []).append(child)
    below: dict[str, frozenset[str]] = {}
    for parent, _ in reversed(links):
        _add_below(parent, children, below)
    return tuple(
        (parent, child)
        for parent, child in links
        if not any(child in below[other] for other in children[parent] if other != child)
    )


def _add_below(node: str, children: Mapping[str, list[str]], below: dict[str, frozenset[str]]) -> None:
    """What can be reached from ``node``, worked out once."""
    if node not in below:
        reached: set[str] = set()
        for child in children.get(node, ()):
            _add_below(child, children, below)
            reached |= {child} | below[child]
        below[node] = frozenset(reached)
