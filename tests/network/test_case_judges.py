"""Cases on the shipped knowledge base before two other engines, written by others or the plain way.

pyAgrum gets the full network, initiating cause, history and all, with gates as tables and chains of positive
numbers; it can hold that with about a quarter of the causes (all of them: 2^40 cells). The plain elimination gets
every cause.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import chain

import numpy as np
import pytest
from oracle.agrum import Agrum, bayes_net
from oracle.chains import plain_tables
from oracle.enumeration import mutual_information
from oracle.shipped_cases import random_case, shipped, some_causes
from oracle.slow_elimination import Number, root_weights

from diag.network.case_network import TARGET, CaseNetwork
from diag.network.diagnosis import Diagnosis
from diag.network.model import Network

CLOSE = 1e-9
CAUSES_HELD = 20
# Every fourth case is not drawn from the model: its states are random, and hardly anything explains them.
SEEDS = range(20)
# All gains of one seed are judged and a few of each other one: an act takes a tenth of a second.
IN_FULL, A_FEW = 2, 5


def findings_of(seed: int) -> int:
    """5 to 40 findings over the seeds."""
    return 5 + 35 * seed // (len(SEEDS) - 1)


@cache
def case_of(seed: int, causes: int | None) -> CaseNetwork:
    knowledge = shipped() if causes is None else some_causes(causes, seed)
    return random_case(knowledge, seed, findings_of(seed), drawn=seed % 4 != 3)


def acts(case: CaseNetwork) -> dict[str, tuple[str, ...]]:
    """Every test and every question, with the findings that it reveals."""
    knowledge = case.knowledge
    questions = {f"ask {f.id}": (f.id,) for f in knowledge.findings.values() if f.ask}
    return {test.id: test.reveals for test in knowledge.tests.values()} | questions


def chosen(seed: int, found: dict) -> dict:
    """A random few of what was found, the same for a seed; of one seed all."""
    names = np.random.default_rng(seed).permutation(list(found)).tolist()
    return {name: found[name] for name in (names if seed == IN_FULL else names[:A_FEW])}


@cache
def full_network_of(seed: int) -> Network:
    return case_of(seed, CAUSES_HELD).full_network()


def agrum_of(seed: int, asked: Iterable[str]) -> Agrum:
    """The part of the full network that matters for the evidence and what is asked."""
    full, told = full_network_of(seed), case_of(seed, CAUSES_HELD).full_evidence()
    above = full.ancestors([*told, TARGET, *asked])
    net = bayes_net(plain_tables(Network(node for node in full.values() if node.id in above)))
    sure = {node: int(said.argmax()) for node, said in told.items() if np.array_equal(np.unique(said), [0, 1])}
    return Agrum(net, {node: sure.get(node, said.tolist()) for node, said in told.items()})


@pytest.mark.parametrize("seed", SEEDS)
def test_all_that_a_diagnosis_says_agrees_with_pyagrum(seed):
    case = case_of(seed, CAUSES_HELD)
    ours, theirs = Diagnosis(case), agrum_of(seed, case.causes)
    assert ours.posterior == pytest.approx(theirs.posterior(TARGET), abs=CLOSE)
    assert ours.probability_of_evidence == pytest.approx(theirs.probability_of_evidence(), rel=CLOSE, abs=0)
    for cause, chance in ours.also_present().items():
        assert chance == pytest.approx(theirs.posterior(cause)[1], abs=CLOSE)
    for effect, chances in ours.effects().items():
        if effect in theirs.net.names():
            assert chances == pytest.approx(theirs.posterior(effect), abs=CLOSE)


def by_states(outcome):
    """The gain by states alone; what figures of instruments tell of them is judged in test_readings."""
    return replace(outcome, case=None).gain


@pytest.mark.parametrize("seed", SEEDS)
def test_gains_of_tests_questions_and_facts_agree_with_pyagrum(seed):
    ours = Diagnosis(case_of(seed, CAUSES_HELD))
    outcomes = chosen(seed, ours.outcomes(acts(ours.case)))
    for name, outcome in (outcomes | chosen(seed, ours.fact_outcomes())).items():
        theirs = agrum_of(seed, outcome.findings).gain(outcome.findings, TARGET)
        assert by_states(outcome) == pytest.approx(theirs, abs=CLOSE), name


def plainly(case: CaseNetwork, findings: Sequence[str] = ()) -> np.ndarray:
    """P(C, e, outcome) by plain elimination, C = c being evidence on its fault; shape (states of C, outcomes)."""
    cards = [case.faults.card(finding) for finding in findings]
    outcomes = np.array(list(np.ndindex(*cards))).T
    tried = {f: np.eye(n)[outcomes[i]].T for i, (f, n) in enumerate(zip(findings, cards, strict=True))}
    by_fault = root_weights(case.faults, case.likelihood, case.causes, tried)
    with_fault = by_fault[:, 1] / case.coexistence.astype(Number)[:, None]
    weight = (case.prior * case.history.astype(Number))[:, None]
    return np.concatenate([with_fault, by_fault[:1].sum(1)]) * weight


@pytest.mark.parametrize("seed", SEEDS)
def test_likely_causes_agree_with_plain_elimination(seed):
    case = case_of(seed, None)
    ours, theirs = Diagnosis(case), plainly(case)[:, 0]
    assert ours.posterior == pytest.approx((theirs / theirs.sum()).astype(float), abs=CLOSE)
    assert ours.probability_of_evidence == pytest.approx(float(theirs.sum()), rel=CLOSE, abs=0)
    assert ours.evidence_given_cause == pytest.approx((theirs / case.prior).astype(float), rel=CLOSE, abs=0)


@pytest.mark.parametrize("seed", SEEDS)
def test_outcomes_and_gains_agree_with_plain_elimination(seed):
    case = case_of(seed, None)
    outcomes = chosen(seed, Diagnosis(case).outcomes(acts(case)))
    for name, outcome in outcomes.items():
        theirs = plainly(case, outcome.findings)
        joint = (theirs / theirs.sum()).astype(float)
        assert outcome.joint.reshape(joint.shape) == pytest.approx(joint, abs=CLOSE), name
        assert by_states(outcome) == pytest.approx(mutual_information(dict(np.ndenumerate(joint))), abs=CLOSE), name


def test_the_cases_are_of_every_kind():
    cases = [case_of(seed, None) for seed in SEEDS]
    looks = list(chain.from_iterable(case.observations.looks for case in cases))
    assert {5, 40} <= {len({look.finding for look in case.observations.looks}) for case in cases}
    assert any(look.complaint for look in looks)
    assert any(max(look.likelihood) < 1 or sum(look.likelihood) > 1 for look in looks)
    assert any("~look2" in node for case in cases for node in case.faults)
    assert any(case.observations.history for case in cases)
    assert {True, False} <= {has for case in cases for has in case.observations.fitted.values()}
