"""Wet grass: Murphy, Bayes Net Toolbox documentation (usage, example sprinkler1), after Russell and Norvig 1995.

Published: P(W) 0.6471, P(S | W) 0.4298, P(R | W) 0.7079, P(S | W, R) 0.1945. The longer numbers are recomputed
by enumeration.
"""

import pytest
from oracle.small_networks import yes_no

from diag.network.inference import Inference
from diag.network.model import Network

NETWORK = Network(
    [
        yes_no("cloudy", 0.5),
        yes_no("sprinkler", [0.5, 0.1], "cloudy"),
        yes_no("rain", [0.2, 0.8], "cloudy"),
        yes_no("wet", [[0.0, 0.9], [0.9, 0.99]], "sprinkler", "rain"),
    ]
)


@pytest.mark.parametrize(
    ("told", "printed", "recomputed"),
    [({"wet": "yes"}, 0.6471, 0.6471), ({"wet": "yes", "rain": "yes"}, None, 0.4581)],
)
def test_probability_of_the_evidence(told, printed, recomputed):
    found = Inference(NETWORK, told).probability_of_evidence()
    assert found == pytest.approx(recomputed, rel=1e-9)
    assert printed is None or round(found, 4) == printed


@pytest.mark.parametrize(
    ("told", "asked", "printed", "recomputed"),
    [
        ({"wet": "yes"}, "sprinkler", 0.4298, 0.4297635605),
        ({"wet": "yes"}, "rain", 0.7079, 0.7079276773),
        ({"wet": "yes", "rain": "yes"}, "sprinkler", 0.1945, 0.1944990177),
        ({"wet": "yes"}, "cloudy", None, 0.5757997218),
    ],
)
def test_posteriors(told, asked, printed, recomputed):
    found = Inference(NETWORK, told).posterior(asked)[1]
    assert found == pytest.approx(recomputed, rel=1e-9)
    assert printed is None or round(found, 4) == printed
