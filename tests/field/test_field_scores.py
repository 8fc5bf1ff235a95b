"""Real cases against the shipped base: is it better than simpler methods, and as sure as it may be?

Sources of the cases: sources.yaml. Laws and honest gates only: no count is asserted as such, since every addition to
the base moves it. Run `diag evaluate tests/field/cases.yaml` for the figures.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diag.learn import evaluate, read_cases
from diag.learn.scores import HITS
from diag.learn.shaken import shaken
from diag.session import load_knowledge
from diag.text import parse

CASES = Path(__file__).with_name("cases.yaml")
KNOWLEDGE_FOLDER = Path(__file__).parents[2] / "knowledge"
SHUFFLES = 5
DRAWS = 12  # tests/benchmarks/shaken.py takes 200


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
def scores(knowledge):
    found, problems = evaluate(knowledge, judged())
    assert not problems
    return found.scores


@pytest.mark.parametrize("view", ["intake", "told"])
def test_better_than_the_shares_alone_and_not_behind_naive_bayes(scores, view):
    ours, prior, naive = (scores[method][view] for method in ("ours", "prior_only", "naive_bayes"))
    assert ours.log_loss < prior.log_loss
    assert ours.log_loss < naive.log_loss
    assert min(ours.first3 - prior.first3, ours.first5 - prior.first5) > 0
    assert ours.first5 >= naive.first5


@pytest.mark.parametrize("view", ["intake", "told"])
@pytest.mark.parametrize("hit", list(HITS))
def test_observed_hits_lie_inside_what_the_probabilities_expect(scores, view, hit):
    ours = scores["ours"][view]
    assert ours.expected[hit].low <= getattr(ours, hit) <= ours.expected[hit].high


def test_with_the_truths_shuffled_nothing_is_left(knowledge, scores):
    """The score comes from the findings: with another case's truth it falls to that of the shares alone, or below."""
    cases = judged()
    random = np.random.default_rng(11)
    shuffled = []
    for _ in range(SHUFFLES):
        order = random.permutation(len(cases))
        mixed = [replace(case, truth=cases[i].truth) for case, i in zip(cases, order, strict=True)]
        shuffled.append(evaluate(knowledge, mixed, ("ours",))[0].scores["ours"]["intake"])
    prior = scores["prior_only"]["intake"]
    assert np.mean([score.log_loss for score in shuffled]) > prior.log_loss
    assert np.mean([score.first3 for score in shuffled]) < (scores["ours"]["intake"].first3 + prior.first3) / 2


def test_with_the_judgements_shaken_the_middle_stays(knowledge, scores):
    """Within one case in ten of the first-three count; 200 draws in tests/benchmarks/shaken.py."""
    cases = judged()
    random = np.random.default_rng(3)
    found = [
        evaluate(shaken(knowledge, random), cases, ("ours",))[0].scores["ours"]["intake"].first3 for _ in range(DRAWS)
    ]
    assert abs(np.median(found) - scores["ours"]["intake"].first3) <= len(cases) / 10


def test_no_knowledge_file_names_a_case():
    ids = [case.id for case in read_cases(CASES)[0]]
    for path in KNOWLEDGE_FOLDER.rglob("*.yaml"):
        words = set(path.read_text(encoding="utf-8").replace(",", " ").split())
        assert not words & set(ids), path


def test_out_of_scope_vehicles_are_refused_with_the_reason(knowledge):
    cases, _ = read_cases(CASES)
    outside = [case for case in cases if not case.in_scope]
    refused = evaluate(knowledge, outside, ("prior_only",))[0].refused
    assert outside
    assert set(refused) == {case.id for case in outside}
    assert all(refused.values())
