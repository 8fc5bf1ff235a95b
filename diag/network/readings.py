"""Readings by a named instrument in the network: one hidden error an instrument, every reading an observed child.

P(reading | state of the finding, errors) is known up to a factor, and a factor tells nothing: the child has the states
(else, seen) with P(seen) that likelihood, its greatest 1, and "seen" is the evidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain

import numpy as np
import numpy.typing as npt

from diag.measure.errors import NODES, node_weights
from diag.network.model import Node, Table
from diag.network.observations import Look, Observations

Array = npt.NDArray[np.float64]

SEEN = ("else", "seen")
_ERRORS = tuple(f"e{place}" for place in range(len(NODES)))


def reading_nodes(observations: Observations, looks: Mapping[int, str]) -> list[Node]:
    """The errors of all instruments named, and the readings by them; none where no instrument was named.

    looks: node of the look by its entry; readings of other entries are left out.
    """
    names = instrument_nodes(observations)
    errors = [Node(error, _ERRORS, (), Table(node_weights())) for error in names.values()]
    return [*errors, *(_reading_node(node, look, names) for node, look in _readings(observations, looks))]


def reading_evidence(observations: Observations, looks: Mapping[int, str]) -> dict[str, Array]:
    """Evidence on the nodes of ``reading_nodes``: readings seen, instruments checked."""
    names = instrument_nodes(observations)
    checked = {names[name]: np.array(told) for name, told in observations.checks.items() if name in names}
    seen = np.array([0.0, 1.0])
    return {**checked, **{_reading_id(node): seen for node, _ in _readings(observations, looks)}}


def instrument_nodes(observations: Observations) -> Mapping[str, str]:
    """The node of each instrument's error, by its name. Names are free text, so nodes are numbered."""
    named = dict.fromkeys(chain.from_iterable(look.instruments for look in observations.looks))
    return {name: f"instrument{number}~error" for number, name in enumerate(named, start=1)}


def _readings(observations: Observations, looks: Mapping[int, str]) -> Iterator[tuple[str, Look]]:
    """Looks by named instruments, each with the node that it is a look at."""
    for look in observations.looks:
        if look.instruments and look.entry in looks:
            yield looks[look.entry], look


def _reading_id(node: str) -> str:
    return f"{node}~reading"


def _reading_node(node: str, look: Look, names: Mapping[str, str]) -> Node:
    told = np.array(look.given_errors).reshape(-1, *(len(NODES),) * len(look.instruments))
    parents = (node, *(names[name] for name in look.instruments))
    return Node(_reading_id(node), SEEN, parents, Table(np.stack([1.0 - told, told], axis=-1)))
