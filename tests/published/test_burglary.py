"""Burglary and alarm: Russell and Norvig (after Pearl 1988), section 14.4, and the book's public notebooks.

Published: P(B | J, M) 0.284 (0.2841718353643929 in the notebooks); P(J, M, A, no B, no E) 0.000628 (from memory).
All other numbers are recomputed by enumeration.
"""

import pytest
from oracle.small_networks import yes_no

from diag.network.inference import Inference
from diag.network.model import Network

NETWORK = Network(
    [
        yes_no("burglary", 0.001),
        yes_no("earthquake", 0.002),
        yes_no("alarm", [[0.001, 0.29], [0.94, 0.95]], "burglary", "earthquake"),
        yes_no("john", [0.05, 0.90], "alarm"),
        yes_no("mary", [0.01, 0.70], "alarm"),
    ]
)
BOTH_CALL = {"john": "yes", "mary": "yes"}


def test_burglary_when_both_call_is_the_published_number():
    assert Inference(NETWORK, BOTH_CALL).posterior("burglary")[1] == pytest.approx(0.2841718353643929, rel=1e-14)


def test_one_full_assignment():
    told = {**BOTH_CALL, "alarm": "yes", "burglary": "no", "earthquake": "no"}
    found = Inference(NETWORK, told).probability_of_evidence()
    assert round(found, 6) == 0.000628
    assert found == pytest.approx(0.00062811126, rel=1e-9)


@pytest.mark.parametrize(
    ("told", "recomputed"),
    [
        (BOTH_CALL, 0.002084100239),
        ({"alarm": "yes"}, 0.002516442),
        ({"john": "yes"}, 0.0521389757),
        ({"mary": "yes"}, 0.01173634498),
    ],
)
def test_probability_of_the_evidence(told, recomputed):
    # 0.002516442, say, is printed to seven digits: half a unit of the last one.
    assert Inference(NETWORK, told).probability_of_evidence() == pytest.approx(recomputed, rel=1e-9, abs=5e-13)


@pytest.mark.parametrize(
    ("told", "asked", "recomputed"),
    [
        (BOTH_CALL, "earthquake", 0.1760668384),
        (BOTH_CALL, "alarm", 0.7606920389),
        ({"john": "yes"}, "burglary", 0.0162837299),
        ({"mary": "yes"}, "burglary", 0.0561174540),
        ({"alarm": "yes"}, "burglary", 0.3735512283),
        ({"alarm": "yes", "earthquake": "yes"}, "burglary", 0.0032684236),
    ],
)
def test_posteriors(told, asked, recomputed):
    assert Inference(NETWORK, told).posterior(asked)[1] == pytest.approx(recomputed, abs=5.1e-11)
