"""Chest clinic: Lauritzen and Spiegelhalter, JRSS B 50 (1988) 157-224; output as the gRain vignette prints it
(Højsgaard, J. Stat. Softw. 2012). Digits beyond the printed ones are recomputed by enumeration.
"""

from itertools import product

import numpy as np
import pytest
from oracle.small_networks import yes_no

from diag.network.inference import Inference
from diag.network.model import Network

NETWORK = Network(
    [
        yes_no("asia", 0.01),
        yes_no("smoke", 0.5),
        yes_no("tub", [0.01, 0.05], "asia"),
        yes_no("lung", [0.01, 0.1], "smoke"),
        yes_no("bronc", [0.3, 0.6], "smoke"),
        yes_no("either", [[0.0, 1.0], [1.0, 1.0]], "tub", "lung"),
        yes_no("xray", [0.05, 0.98], "either"),
        yes_no("dysp", [[0.1, 0.7], [0.8, 0.9]], "bronc", "either"),
    ]
)
VISITED = {"asia": "yes", "dysp": "yes"}
ILLNESSES = ("tub", "lung", "bronc")

# P(tub, lung, bronc), printed; y or n each.
PRIOR = {
    "yyy": 0.0003276,
    "nyy": 0.0311724,
    "yny": 0.0043524,
    "nny": 0.4141476,
    "yyn": 0.0002444,
    "nyn": 0.0232556,
    "ynn": 0.0054756,
    "nnn": 0.5210244,
}


def test_printed_joint_prior_of_the_illnesses():
    joint = Inference(NETWORK, {}).joint(ILLNESSES)
    for states in product((0, 1), repeat=3):
        assert joint[states] == pytest.approx(PRIOR["".join("ny"[s] for s in states)], abs=1e-13)


def test_probability_of_the_evidence():
    found = Inference(NETWORK, VISITED).probability_of_evidence()
    assert round(found, 6) == 0.004501  # printed
    assert found == pytest.approx(0.004501375, rel=1e-9)
    more = Inference(NETWORK, VISITED | {"xray": "yes"}).probability_of_evidence()
    assert more == pytest.approx(9.8822675e-4, rel=1e-9)


@pytest.mark.parametrize(
    ("told", "printed"),
    [({}, (0.0104, 0.0550, 0.4500)), (VISITED, (0.08775, 0.09953, 0.81140))],
)
def test_printed_posteriors_of_the_illnesses(told, printed):
    found = Inference(NETWORK, told).posteriors(ILLNESSES)
    assert [round(found[illness][1], 5) for illness in ILLNESSES] == pytest.approx(printed, abs=1e-12)


@pytest.mark.parametrize(
    ("told", "recomputed"),
    [
        ({}, {"either": 0.064828, "xray": 0.11029004, "dysp": 0.4359706}),
        (VISITED, {"tub": 0.08775096498, "lung": 0.09952514509, "bronc": 0.81140207159}),
        (VISITED, {"either": 0.18229985, "xray": 0.21953886, "smoke": 0.62591986}),
        ({"dysp": "yes"}, {"tub": 0.018845, "lung": 0.102759, "bronc": 0.833967}),
        ({"xray": "yes"}, {"tub": 0.092411, "lung": 0.488711, "bronc": 0.506326}),
        ({"xray": "yes", "dysp": "yes"}, {"tub": 0.113933, "lung": 0.621253, "bronc": 0.681869}),
        (VISITED | {"xray": "yes"}, {"tub": 0.391712, "lung": 0.444271, "bronc": 0.628822}),
        (VISITED | {"xray": "no"}, {"tub": 0.002249, "lung": 0.002550, "bronc": 0.862761}),
    ],
)
def test_recomputed_posteriors_to_their_last_digit(told, recomputed):
    for node, posterior in Inference(NETWORK, told).posteriors(recomputed).items():
        digits = len(str(recomputed[node]).partition(".")[2])
        assert posterior[1] == pytest.approx(recomputed[node], abs=0.501 * 10.0 ** -max(digits, 6))


def test_the_deterministic_node_follows_its_parents():
    told = Inference(NETWORK, {"tub": "no", "lung": "no"})
    assert told.posterior("either") == pytest.approx(np.array([1.0, 0.0]), abs=0)
