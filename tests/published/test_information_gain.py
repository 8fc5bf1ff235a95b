"""Expected information gain and surprisal against numbers that can be looked up."""

from math import log2

import numpy as np
import pytest
from oracle.enumeration import entropy
from oracle.small_networks import states, yes_no

from diag.network.inference import Inference
from diag.network.information import expected_information_gain
from diag.network.model import Network, Node, Table


def test_two_state_experiment_in_closed_form():
    """Prior 0.4, likelihoods 0.25 and 0.75: the finite experiment on which the estimators of Foster et al. 2019
    (Variational Bayesian optimal experimental design, NeurIPS) are tested in the open library Pyro,
    0.12580366909478014 nat. Recomputed: H(0.45) - mean of H(0.25) and H(0.75) = 0.18149632952867545 bit.
    """
    network = Network([yes_no("theta", 0.4), yes_no("y", [0.25, 0.75], "theta")])
    gain = Inference(network, {}).gain(["y"], "theta")
    assert gain == pytest.approx(0.18149632952867545, abs=1e-14)
    assert gain * np.log(2) == pytest.approx(0.12580366909478014, abs=1e-14)


# MacKay, Information Theory, Inference, and Learning Algorithms, 2003, Fig. 4.3 p. 71: 64 squares, the shots of
# moves 1 to 48 miss, move 49 hits. The book cuts three of its figures short (0.0230, 0.0443, 0.0874): rounded they
# are 0.0231, 0.0444, 0.0875.
SUBMARINE = {1: (0.0227, 0.0227), 2: (0.0231, 0.0458), 32: (0.0444, 1.0), 48: (0.0875, 2.0), 49: (4.0, 6.0)}


def submarine() -> Network:
    shots = [Node(f"shot{i}", ("miss", "hit"), ("square",), Table(hits_square(i))) for i in range(49)]
    return Network([states("square", np.full(64, 1 / 64)), *shots])


def hits_square(square: int) -> np.ndarray:
    hit = np.eye(64)[square]
    return np.stack([1 - hit, hit], axis=1)


def test_surprisals_of_the_submarine_game():
    network, told, total = submarine(), {}, 0.0
    for move in range(1, 50):
        before = Inference(network, told).probability_of_evidence()
        told[f"shot{move - 1}"] = "hit" if move == 49 else "miss"
        surprise = -log2(Inference(network, told).probability_of_evidence() / before)
        total += surprise
        if move in SUBMARINE:
            assert (round(surprise, 4), round(total, 4)) == SUBMARINE[move]
    assert total == pytest.approx(6, abs=1e-12)  # the whole of log2 64, in whatever order it came


# Twelve balls, one odd, heavier or lighter: MacKay 2003, exercises 4.1 p. 66 and 4.9 p. 84 (answers from memory:
# 6 against 6 tells 1 bit and nothing about which ball; 4 against 4 log2 3 = 1.585). Bits for 1 to 6 a side
# recomputed by enumeration.
WEIGHINGS = {1: 0.8167, 2: 1.2516, 3: 1.5, 4: 1.5850, 5: 1.4834, 6: 1.0}


def weighing(name: str, left: set[int], right: set[int]) -> Node:
    """Which pan goes down, for every odd ball and whether it is lighter or heavier."""
    table = np.zeros((12, 2, 3))
    for ball, heavier in np.ndindex(12, 2):
        down = 1 if ball not in left | right else (2 if (ball in left) == bool(heavier) else 0)
        table[ball, heavier, down] = 1.0
    return Node(name, ("right", "balance", "left"), ("ball", "heavier"), Table(table))


def twelve_balls(*weighings: Node) -> Network:
    return Network([states("ball", np.full(12, 1 / 12)), yes_no("heavier", 0.5), *weighings])


@pytest.mark.parametrize("side", WEIGHINGS)
def test_bits_of_weighing_some_balls_against_as_many(side):
    network = twelve_balls(weighing("first", set(range(side)), set(range(side, 2 * side))))
    gain = Inference(network, {}).gain(["first"], ["ball", "heavier"])
    shares = [2 * side / 24, 1 - 4 * side / 24, 2 * side / 24]  # left down, balance, right down
    assert gain == pytest.approx(entropy(shares), abs=1e-12)
    assert round(gain, 4) == WEIGHINGS[side]


def test_six_against_six_tells_nothing_about_which_ball():
    network = twelve_balls(weighing("first", set(range(6)), set(range(6, 12))))
    inference = Inference(network, {})
    assert inference.gain(["first"], "ball") == 0
    assert inference.gain(["first"], ["ball", "heavier"]) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("outcome", "left", "right"),
    [("left", {0, 1, 5}, {2, 3, 4}), ("balance", {8, 9, 10}, {0, 1, 2})],
)
def test_the_second_weighing_splits_eight_states_three_three_two(outcome, left, right):
    """After 4 against 4: 1 2 6 against 3 4 5, or 9 10 11 against three sound balls; 1.561278 bit, recomputed."""
    first = weighing("first", {0, 1, 2, 3}, {4, 5, 6, 7})
    network = twelve_balls(first, weighing("second", left, right))
    gain = Inference(network, {"first": outcome}).gain(["second"], ["ball", "heavier"])
    assert gain == pytest.approx(entropy([3 / 8, 3 / 8, 2 / 8]), abs=1e-12)
    assert round(gain, 6) == 1.561278


# Pattipati and Alexandridis, Application of heuristic search and information theory to sequential fault
# diagnosis, IEEE Trans. SMC 20 (1990) 872-887: priors and matrix from memory; the gains are recomputed.
PRIOR = (0.70, 0.01, 0.02, 0.10, 0.05, 0.12)
FAILS = {"t1": {3, 4, 5}, "t2": {1, 4, 5}, "t3": {2, 5}, "t4": {2, 3, 5}, "t5": {1, 3}}
GAINS = {"t1": 0.841465, "t4": 0.795040, "t2": 0.680077, "t3": 0.584239, "t5": 0.499916}


def test_one_step_gains_of_six_states_and_five_tests():
    tests = [yes_no(t, [float(s in fails) for s in range(6)], "state") for t, fails in FAILS.items()]
    inference = Inference(Network([states("state", PRIOR), *tests]), {})
    gains = dict(zip(FAILS, inference.gains([[t] for t in FAILS], "state"), strict=True))
    assert sorted(gains, key=gains.get, reverse=True) == list(GAINS)
    assert {t: round(gain, 6) for t, gain in gains.items()} == GAINS
    assert inference.gain(list(FAILS), "state") == pytest.approx(entropy(PRIOR), abs=1e-12)
    assert round(entropy(PRIOR), 6) == 1.454873  # the entropy bound, recomputed


def test_gain_of_a_table_alone():
    """The same closed form as above, from P(x, t) itself."""
    joint = np.array([[0.6 * 0.75, 0.6 * 0.25], [0.4 * 0.25, 0.4 * 0.75]])
    assert expected_information_gain(joint) == pytest.approx(0.18149632952867545, abs=1e-14)
