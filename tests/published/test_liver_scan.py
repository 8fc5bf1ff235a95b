"""Liver scan, 344 patients: Altman and Bland, BMJ 308 (1994) 1552 and 309 (1994) 102.

Scan abnormal: 231 diseased, 32 not; normal: 27 diseased, 54 not. The journal prints sensitivity 0.90, specificity
0.63, predictive values 0.88 and 0.59 at prevalence 0.75, and 0.45 and 0.95 at 0.25. The 0.59 is a misprint:
54 / 81 = 0.67. Mutual information recomputed.
"""

import pytest
from oracle.small_networks import yes_no

from diag.network.inference import Inference
from diag.network.model import Network

SENSITIVITY, SPECIFICITY = 231 / 258, 54 / 86
PREVALENCE = 258 / 344


def scan(prevalence: float) -> Network:
    return Network([yes_no("disease", prevalence), yes_no("scan", [1 - SPECIFICITY, SENSITIVITY], "disease")])


def predictive_values(prevalence: float) -> tuple[float, float]:
    network = scan(prevalence)
    positive = Inference(network, {"scan": "yes"}).posterior("disease")[1]
    return positive, Inference(network, {"scan": "no"}).posterior("disease")[0]


def test_printed_sensitivity_and_specificity():
    assert (round(SENSITIVITY, 2), round(SPECIFICITY, 2), PREVALENCE) == (0.90, 0.63, 0.75)


def test_predictive_values_at_the_prevalence_of_the_study():
    positive, negative = predictive_values(PREVALENCE)
    assert round(positive, 2) == 0.88
    assert positive == pytest.approx(231 / 263, rel=1e-12)
    assert negative == pytest.approx(54 / 81, rel=1e-12)  # printed 0.59


def test_predictive_values_at_a_prevalence_of_a_quarter():
    positive, negative = predictive_values(0.25)
    assert (round(positive, 2), round(negative, 2)) == (0.45, 0.95)
    # Odds 1/3 times the likelihood ratios 2.40625 and 1/6 (recomputed: 0.895349 / 0.372093, 0.104651 / 0.627907).
    assert positive / (1 - positive) == pytest.approx(2.40625 / 3, rel=1e-12)
    assert (1 - negative) / negative == pytest.approx(1 / 18, rel=1e-12)


@pytest.mark.parametrize(("prevalence", "bits"), [(0.75, 0.186675), (0.25, 0.164884)])
def test_bits_of_the_scan(prevalence, bits):
    assert round(Inference(scan(prevalence), {}).gain(["scan"], "disease"), 6) == bits


@pytest.mark.parametrize(
    ("prevalence", "sensitivity", "false_alarm", "printed", "recomputed"),
    [
        (0.01, 0.8, 0.096, 0.078, 0.8 / (0.8 + 99 * 0.096)),  # Gigerenzer and Hoffrage 1995 (from memory)
        (0.001, 1.0, 0.05, 0.02, 1 / (1 + 999 * 0.05)),  # Casscells et al. 1978 (from memory): "about 2 %"
    ],
)
def test_screening_for_something_rare(prevalence, sensitivity, false_alarm, printed, recomputed):
    network = Network([yes_no("disease", prevalence), yes_no("scan", [false_alarm, sensitivity], "disease")])
    found = Inference(network, {"scan": "yes"}).posterior("disease")[1]
    assert found == pytest.approx(recomputed, rel=1e-12)
    assert found == pytest.approx(printed, abs=0.0005)
