"""Three multipliers and two adders: de Kleer and Williams, Diagnosing multiple faults, AI 32 (1987) 97-130.

x = A C (M1), y = B D (M2), z = C E (M3), F = x + y (A1), G = y + z (A2); A=3, B=2, C=2, D=3, E=3; seen F=10, G=12.
A broken part may put out anything. Minimal candidates [A1], [M1], [A2, M2], [M2, M3] (from the paper, by way of
lecture slides). Each part is broken with 0.01 (ours); probabilities recomputed by listing all 32 assignments.
"""

from itertools import product

import numpy as np
import pytest

from diag.network.explanation import most_probable_explanation
from diag.network.inference import Inference
from diag.network.model import Network, Node, Table

PARTS = ("M1", "M2", "M3", "A1", "A2")
SEEN = {"F": 10, "G": 12}


def consistent(m1: int, m2: int, m3: int, a1: int, a2: int) -> bool:
    """Whether any outputs x, y, z of the multipliers go with what was seen; 1 is broken.

    A whole number between 0 and 12 always does where one does.
    """
    return any(
        (m1 or x == 6)
        and (m2 or y == 6)
        and (m3 or z == 6)
        and (a1 or x + y == SEEN["F"])
        and (a2 or y + z == SEEN["G"])
        for x, y, z in product(range(13), repeat=3)
    )


def polybox() -> Network:
    nodes = [Node(part, ("sound", "broken"), (), Table([0.99, 0.01])) for part in PARTS]
    table = np.zeros((2,) * 5 + (2,))
    for states in product((0, 1), repeat=5):
        table[(*states, int(consistent(*states)))] = 1.0
    return Network([*nodes, Node("as_seen", ("no", "yes"), PARTS, Table(table))])


def test_27_of_the_32_assignments_are_consistent():
    assert sum(consistent(*states) for states in product((0, 1), repeat=5)) == 27


def test_minimal_candidates_come_out_one_after_the_other():
    """The best explanation; then the best with the parts of the single ones sound; then without both of a pair."""
    network, seen = polybox(), {"as_seen": np.array([0.0, 1.0])}
    sound = np.array([1.0, 0.0])
    chance = Inference(network, seen).probability_of_evidence()
    found = []
    for held in ((), ("A1",), ("M1",), ("A1", "M1", "A2"), ("A1", "M1", "M3")):
        states, value = most_probable_explanation(network, {**seen, **dict.fromkeys(held, sound)})
        broken = {part for part in PARTS if states[part] == "broken"}
        found.append((broken, round(value / chance, 6)))
    assert found[0][0] in ({"A1"}, {"M1"})
    assert found[0][1] == 0.478026
    assert found[1:] == [({"M1"}, 0.478026), ({"A1"}, 0.478026), ({"M2", "M3"}, 0.004829), ({"A2", "M2"}, 0.004829)]


@pytest.mark.parametrize(
    ("part", "broken"), [("M1", 0.497635), ("A1", 0.497635), ("M2", 0.019609), ("M3", 0.014780), ("A2", 0.014780)]
)
def test_each_part(part, broken):
    assert Inference(polybox(), {"as_seen": "yes"}).posterior(part)[1] == pytest.approx(broken, abs=5e-7)
