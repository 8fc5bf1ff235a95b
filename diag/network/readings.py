"""Readings by a named instrument in the network: one hidden error an instrument, every reading an observed child.

P(reading | state of the finding, errors) is known up to a factor, and a factor tells nothing: the child has the states
(else, seen) with P(seen) that likelihood, its greatest 1, and "seen" is the evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from diag.measure.errors import NODES, node_weights
from diag.network.model import Node, Table
from diag.network.observations import Observations, SharedReading

Array = npt.NDArray[np.float64]

SEEN = ("else", "seen")
_ERRORS = tuple(f"e{place}" for place in range(len(NODES)))


def reading_nodes(observations: Observations, looks: Mapping[int, str]) -> list[Node]:
    """The errors of all instruments named, and the readings by them; none where no instrument was named.

    looks: node of the look by its entry; readings of other entries are left out.
    """
    errors = [Node(error, _ERRORS, (), Table(node_weights())) for error in _instruments(observations).values()]
    readings = [
        _reading_node(observations, number, told, looks[told.entry])
        for number, told in _numbered(observations)
        if told.entry in looks
    ]
    return [*errors, *readings]


def reading_evidence(observations: Observations, looks: Mapping[int, str]) -> dict[str, Array]:
    """Evidence on the nodes of ``reading_nodes``: readings seen, instruments checked."""
    names = _instruments(observations)
    checked = {names[name]: np.array(told) for name, told in observations.checks.items() if name in names}
    seen = [_reading_id(number, told) for number, told in _numbered(observations) if told.entry in looks]
    return {**checked, **{reading: np.array([0.0, 1.0]) for reading in seen}}


def error_id(observations: Observations, instrument: str) -> str:
    """The node of an instrument's error."""
    return _instruments(observations)[instrument]


def _instruments(observations: Observations) -> Mapping[str, str]:
    """Node by name. Names are free text, so nodes are numbered."""
    named = dict.fromkeys(name for told in observations.readings for name in told.instruments)
    return {name: f"instrument{number}~error" for number, name in enumerate(named, start=1)}


def _numbered(observations: Observations) -> Iterable[tuple[int, SharedReading]]:
    return enumerate(observations.readings, start=1)


def _reading_id(number: int, told: SharedReading) -> str:
    return f"{told.finding}~reading{number}"


def _reading_node(observations: Observations, number: int, told: SharedReading, look: str) -> Node:
    names: Sequence[str] = [error_id(observations, instrument) for instrument in told.instruments]
    shape = (-1, *(len(NODES),) * len(names))
    seen = np.array(told.likelihood).reshape(shape)
    return Node(_reading_id(number, told), SEEN, (look, *names), Table(np.stack([1.0 - seen, seen], axis=-1)))
