"""Real cases against the shipped base: is it better than simpler methods, and as sure as it may be?

Sources of the cases: sources.yaml. Laws and honest gates only: no count is asserted as such, since every addition to
the base moves it. Run `diag evaluate tests/field/cases.yaml` for the figures.
"""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diag.case import Case, as_entries, observe
from diag.learn import evaluate, read_cases
from diag.learn.evaluate import VIEWS
from diag.learn.rivals import by_cause
from diag.learn.scores import HITS, score
from diag.learn.shaken import shaken
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.session import load_knowledge
from diag.text import parse

CASES = Path(__file__).with_name("cases.yaml")
KNOWLEDGE_FOLDER = Path(__file__).parents[2] / "knowledge"
SHUFFLES = 200
DRAWS = 16  # tests/benchmarks/shaken.py takes 200


def judged():
    """Closed circuits of grades A and B whose cause the base knows."""
    cases, problems = read_cases(CASES)
    assert not problems
    root, _ = parse(CASES.read_text(encoding="utf-8"), CASES.name)
    told = {node.get("id").value: node for node in root.items}
    wanted = [c for c in cases if told[c.id].get("circuit").value == "closed" and told[c.id].get("grade").value in "AB"]
    return [case for case in wanted if case.truth]


@pytest.fixture(scope="module")
def knowledge():
    return load_knowledge()


@pytest.fixture(scope="module")
def evaluation(knowledge):
    found, problems = evaluate(knowledge, judged())
    assert not problems
    for view in VIEWS:
        for method, views in found.scores.items():
            score = views[view]
            expected = {hit: f"{told.mean:.1f} ({told.low}-{told.high})" for hit, told in score.expected.items()}
            print(view, method, score.n, [getattr(score, hit) for hit in HITS], expected, round(score.log_loss, 3))
    return found


@pytest.mark.parametrize("view", VIEWS)
def test_better_than_the_shares_alone_and_than_naive_bayes(evaluation, view):
    ours, prior, naive = (evaluation.scores[method][view] for method in ("ours", "prior_only", "naive_bayes"))
    assert ours.n == prior.n == naive.n
    assert ours.log_loss < prior.log_loss
    assert ours.log_loss < naive.log_loss
    for hit in (*HITS, "family_first"):
        assert getattr(ours, hit) > getattr(prior, hit)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("hit", list(HITS))
def test_observed_hits_lie_inside_what_the_probabilities_expect(evaluation, view, hit):
    ours = evaluation.scores["ours"][view]
    assert ours.expected[hit].low <= getattr(ours, hit) <= ours.expected[hit].high


@pytest.mark.parametrize("view", VIEWS)
def test_with_the_truths_shuffled_nothing_is_left(knowledge, evaluation, view):
    """The score comes from the findings: with another case's truth the hits fall to about those of the shares alone."""
    random = np.random.default_rng(11)
    prior = evaluation.scores["prior_only"][view]
    shuffled = [shuffle(knowledge, evaluation.judged["ours"][view], random) for _ in range(SHUFFLES)]
    for hit in HITS:
        assert abs(np.mean([getattr(score, hit) for score in shuffled]) - getattr(prior, hit)) <= prior.n / 10
    assert np.mean([score.log_loss for score in shuffled]) > prior.log_loss


def shuffle(knowledge, rows, random):
    """The score of the same answers with the truths dealt out anew."""
    order = random.permutation(len(rows))
    return score(knowledge, [replace(row, truth=rows[i].truth) for row, i in zip(rows, order, strict=True)])


def test_with_the_judgements_shaken_the_middle_stays(knowledge, evaluation):
    """Within one case in ten of the first-three count; 200 draws in tests/benchmarks/shaken.py."""
    cases = judged()
    random = np.random.default_rng(3)
    found = [first_three(shaken(knowledge, random), cases) for _ in range(DRAWS)]
    print("first three with the judgements shaken:", sorted(found))
    assert abs(np.median(found) - evaluation.scores["ours"]["intake"].first3) <= len(cases) / 10
    assert len(set(found)) > 1


def first_three(base, cases):
    found, problems = evaluate(base, cases, ("ours",), ("intake",))
    assert not problems
    return found.scores["ours"]["intake"].first3


@pytest.mark.parametrize("place", range(0, 40, 8))
def test_the_answer_is_that_of_a_case_recorded_by_hand(knowledge, evaluation, place):
    """Cases that `diag record` would take, answered by the whole base; the evaluation leaves out what nobody saw."""
    case = judged()[place]
    empty = Case(file="here", vehicle="", entries=())
    for view in VIEWS:
        known = case.known(view)
        if known is not None:
            entries, _ = as_entries(empty, knowledge, [f"{told.id}={told.state}" for told in (*case.fitted, *known)])
            diagnosis = Diagnosis(compile_case(knowledge, observe(entries, knowledge)[0]))
            row = next(row for row in evaluation.judged["ours"][view] if row.case == case.id)
            assert row.answer == pytest.approx(by_cause(diagnosis.case, diagnosis.posterior), abs=1e-12)


def test_no_knowledge_file_names_a_case():
    ids = {case.id for case in read_cases(CASES)[0]}
    for path in KNOWLEDGE_FOLDER.rglob("*"):
        if path.is_file():
            assert not ids & set(re.findall(r"\w+", path.read_text(encoding="utf-8"))), path


def test_out_of_scope_vehicles_are_refused_with_the_reason(knowledge):
    cases, _ = read_cases(CASES)
    outside = [case for case in cases if not case.in_scope]
    refused = evaluate(knowledge, outside, ("prior_only",))[0].refused
    assert outside
    assert set(refused) == {case.id for case in outside}
    assert all(refused.values())
