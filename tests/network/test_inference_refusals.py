"""What the engine refuses, and how it says so."""

from time import perf_counter

import numpy as np
import pytest

from diag.network.gates import noisy_or
from diag.network.inference import ImpossibleEvidence, Inference, TooManyOutcomes
from diag.network.information import NegativeGain, expected_information_gain
from diag.network.model import Network, NetworkError, Node, Table
from diag.network.plan import CELL_LIMIT, CliqueTooLarge

NO_YES = ("no", "yes")
# Planning a network that is refused may take this long; filling its tables would take hours.
AT_ONCE = 5.0


def root(name: str, chance: float = 0.1) -> Node:
    return Node(name, NO_YES, (), Table(np.array([1 - chance, chance])))


def grid(side: int) -> Network:
    """A square in which every node hangs on the one to its left and the one above; width = side."""
    nodes = []
    for row, column in np.ndindex(side, side):
        left = (f"r{row}c{column - 1}",) if column else ()
        above = (f"r{row - 1}c{column}",) if row else ()
        yes = np.linspace(0.2, 0.8, 2 ** len(left + above)).reshape((2,) * len(left + above))
        table = Table(np.stack([1 - yes, yes], axis=-1))
        nodes.append(Node(f"r{row}c{column}", NO_YES, left + above, table))
    return Network(nodes)


def every_cause_of_every_finding(causes: int, findings: int) -> Network:
    """A complete bipartite network of noisy-ORs: with all findings "yes" nothing falls apart."""
    roots = [root(f"cause{i}") for i in range(causes)]
    names = tuple(node.id for node in roots)
    leaves = [Node(f"finding{i}", NO_YES, names, noisy_or([0.3] * causes, 0.01)) for i in range(findings)]
    return Network([*roots, *leaves])


def refusal(network: Network, told, asked: str) -> CliqueTooLarge:
    start = perf_counter()
    with pytest.raises(CliqueTooLarge) as refused:
        Inference(network, told).posterior(asked)
    assert perf_counter() - start < AT_ONCE
    return refused.value


def test_a_grid_too_wide_is_refused_at_once_and_names_what_meets():
    refused = refusal(grid(24), {"r23c23": "yes"}, "r0c0")
    assert refused.cells > CELL_LIMIT == refused.limit
    assert len(refused.names) == len(refused.variables) >= 18
    assert refused.names[0].startswith("r") and refused.names[0] in str(refused)


def test_a_complete_bipartite_network_is_refused_at_once_and_names_what_meets():
    told = {f"finding{i}": "yes" for i in range(30)}
    refused = refusal(every_cause_of_every_finding(30, 30), told, "cause0")
    assert refused.cells > CELL_LIMIT
    assert {name.rstrip("0123456789~") for name in refused.names} <= {"cause", "finding"}


def test_the_same_bipartite_network_with_all_findings_absent_is_no_trouble():
    network = every_cause_of_every_finding(30, 30)
    told = {f"finding{i}": "no" for i in range(30)}
    # Every "no" multiplies the odds of a cause by 1 - 0.3; they stay independent.
    odds = 0.1 / 0.9 * 0.7**30
    assert Inference(network, told).posterior("cause0")[1] == pytest.approx(odds / (1 + odds), rel=1e-9)


def test_the_limit_is_the_callers():
    network = grid(3)
    assert Inference(network, {"r2c2": "yes"}).posterior("r0c0").sum() == pytest.approx(1)
    with pytest.raises(CliqueTooLarge):
        Inference(network, {"r2c2": "yes"}, limit=4).posterior("r0c0")


def test_too_many_joint_outcomes_are_refused():
    network = Network(root(f"n{i}") for i in range(14))
    inference = Inference(network, {})
    assert inference.joint([f"n{i}" for i in range(13)]).shape == (2,) * 13  # the first and 2^12 outcomes
    with pytest.raises(TooManyOutcomes, match="n13"):
        inference.gain([f"n{i}" for i in range(1, 14)], "n0")


def test_impossible_evidence_has_probability_nought_and_no_posterior():
    network = Network([root("cause"), Node("finding", NO_YES, ("cause",), noisy_or([0.8]))])
    inference = Inference(network, {"cause": "no", "finding": "yes"})
    assert inference.probability_of_evidence() == 0
    for ask in (inference.posterior, lambda node: inference.gain(["finding"], node)):
        with pytest.raises(ImpossibleEvidence):
            ask("cause")


@pytest.mark.parametrize(
    ("told", "error"),
    [
        ({"cause": "perhaps"}, KeyError),
        ({"nobody": "yes"}, KeyError),
        ({"cause": (0.0, 0.0)}, ValueError),
        ({"cause": (-0.1, 1.0)}, ValueError),
        ({"cause": (1.0, 1.0, 1.0)}, ValueError),
    ],
)
def test_evidence_that_is_none_is_refused(told, error):
    with pytest.raises(error):
        Inference(Network([root("cause")]), told)


@pytest.mark.parametrize(
    "joint",
    [
        np.full((2, 2), 0.9),  # adds up to 3.6
        np.array([[0.6, 0.6], [-0.1, -0.1]]),  # adds up to 1, with cells below nought
    ],
)
def test_a_gain_from_a_joint_that_is_none_is_an_error(joint):
    with pytest.raises(NegativeGain):
        expected_information_gain(joint)


def test_a_gain_of_rounding_below_nought_is_nought():
    independent = np.outer([0.1, 0.2, 0.7], [0.3, 0.3, 0.4])
    assert 0 <= expected_information_gain(independent) < 1e-12


@pytest.mark.parametrize(
    ("nodes", "why"),
    [
        ([root("a"), root("a")], "twice"),
        ([Node("a", NO_YES, ("b",), Table(np.full((2, 2), 0.5)))], "unknown parent"),
        ([root("b"), Node("a", NO_YES, ("b", "b"), Table(np.full((2, 2, 2), 0.5)))], "names a parent twice"),
        ([Node("a", NO_YES, (), Table(np.array([0.5, 0.4])))], "no probabilities"),
        ([Node("a", NO_YES, (), Table(np.array([1.0])))], "shape"),
        ([root("b"), Node("a", NO_YES, ("b",), noisy_or([0.5, 0.5]))], "shape"),
        (
            [Node(x, NO_YES, (y,), Table(np.full((2, 2), 0.5))) for x, y in (("a", "b"), ("b", "a"))],
            "its own ancestor",
        ),
    ],
)
def test_nodes_that_make_no_network_are_refused(nodes, why):
    with pytest.raises(NetworkError, match=why):
        Network(nodes)
