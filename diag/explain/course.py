"""How it most likely hangs together if one cause alone is behind it: the chain from the cause to what was seen.

The single most probable joint state of everything between, given what was recorded, all other causes absent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diag.network.case_network import NOTHING_WRONG
from diag.network.diagnosis import Diagnosis
from diag.network.explanation import GateTooWide, most_probable_explanation
from diag.network.model import Network
from diag.network.pinned import pinned
from diag.network.plan import CliqueTooLarge


@dataclass(frozen=True)
class Course:
    """Nodes that are out of the ordinary, parents first, each with its state; links from parent to child.

    ``cause`` is the first of them. Only what follows from the cause is in it.
    """

    cause: str
    states: Mapping[str, str]
    links: tuple[tuple[str, str], ...]


def course(diagnosis: Diagnosis, cause: str) -> Course | None:
    """The course of things from ``cause`` on; None for ``nothing_wrong``, and where too much hangs together."""
    if cause == NOTHING_WRONG or not float(diagnosis.posterior[diagnosis.case.states.index(cause)]) > 0:
        return None
    others = {other: 0 for other in diagnosis.case.causes if other != cause}
    network = pinned(diagnosis.case.faults, others)
    told = {node: vector for node, vector in diagnosis.case.likelihood.items() if node in network}
    try:
        states, _ = most_probable_explanation(network, {**told, cause: np.array([0.0, 1.0])})
    except (GateTooWide, CliqueTooLarge):
        return None
    return _from(network, cause, {node: s for node, s in states.items() if s != network[node].states[0]})


def _from(network: Network, cause: str, on: Mapping[str, str]) -> Course:
    """What can be reached from ``cause`` over nodes that are ``on``; helper nodes (with a ~) are left out."""
    reached: dict[str, str] = {}
    links: list[tuple[str, str]] = []
    for node in network:  # parents first
        if node not in on or "~" in node:
            continue
        parents = [parent for parent in network[node].parents if parent in reached]
        if node == cause or parents:
            reached[node] = on[node]
            links += [(parent, node) for parent in parents]
    return Course(cause, reached, _without_shortcuts(links))


def _without_shortcuts(links: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """The links that no longer way says already (transitive reduction of an acyclic graph)."""
    below: dict[str, set[str]] = {}
    for parent, child in reversed(links):  # children's links stand after their parents'
        below.setdefault(parent, set()).update({child} | below.get(child, set()))
    children: dict[str, list[str]] = {}
    for parent, child in links:
        children.setdefault(parent, []).append(child)
    return tuple(
        (parent, child)
        for parent, child in links
        if not any(child in below.get(other, set()) for other in children[parent] if other != child)
    )
