"""Scores of rankings: by hand on a tiny base, against brute force, and on the command line."""

import itertools
import json
from dataclasses import replace
from math import log2, prod

import numpy as np
import pytest
from oracle.knowledge import base, cause, fact, finding
from typer.testing import CliRunner

from diag.cli.main import app
from diag.learn import evaluate, read_cases
from diag.learn.scores import HITS, expected_hits, paired

MODEL = {"share_without_fault": 1.0, "coexistence": 0.12, "complaint_false_alarm": 0.1, "second_look_copies": 0.4}
CASES = """
- {id: one, in_scope: yes, fitted: {}, intake: {wet: yes}, steps: [], reveal: null, truth: [leak], family: leak}
- {id: two, in_scope: yes, fitted: {}, intake: {wet: yes}, steps: [{}, {work: no}], reveal: 3, truth: [clog],
   family: clog}
- {id: three, in_scope: yes, fitted: {}, intake: {wet: no}, steps: [{work: no}], reveal: 1, truth: [leak],
   family: leak}
"""
# Prior 0.6, 0.3, 0.1; second faults with 0.08 and 0.04. Told as wet it is the complaint, whose false alarm is a tenth:
# P(wet | leak, clog) = 0.01, 0.802, 0.505, 0.901 for neither, leak, clog, both, so given C = leak, clog, nothing
# 0.96 x 0.802 + 0.04 x 0.901 = 0.80596; 0.92 x 0.505 + 0.08 x 0.901 = 0.53668; and
# 0.8832 x 0.01 + 0.0768 x 0.802 + 0.0368 x 0.505 + 0.0032 x 0.901 = 0.0918928.
WET = np.array([0.6 * 0.80596, 0.3 * 0.53668, 0.1 * 0.0918928])
# Dry is no complaint: false alarm 0.1, P(wet | C) = 0.8236, 0.5788, 0.174448 (tests/network/test_case_by_hand.py).
DRY = np.array([0.6 * 0.1764, 0.3 * 0.4212, 0.1 * 0.825552])
# P(no work | C): base 0.2, threefold for the leak.
NO_WORK = np.array([0.4, 0.8, 0.8])


def knowledge():
    return base(
        [cause("leak", 6.0, shows={"wet": 0.8}), cause("clog", 3.0, shows={"wet": 0.5})],
        [finding("wet", {"yes": 0.1})],
        history=[fact("work", "work", 0.2, {"leak": 3.0})],
        model=MODEL,
    )


@pytest.fixture
def evaluation(tmp_path):
    path = tmp_path / "cases.yaml"
    path.write_text(CASES, encoding="utf-8")
    cases, problems = read_cases(path)
    assert not problems
    found, problems = evaluate(knowledge(), cases)
    assert not problems
    return found


def test_ours_by_hand(evaluation):
    intake = evaluation.scores["ours"]["intake"]
    wet, dry = WET / WET.sum(), DRY / DRY.sum()
    assert (intake.n, intake.first, intake.first3) == (3, 1, 3)
    assert intake.losses == pytest.approx([-log2(wet[0]), -log2(wet[1]), -log2(dry[0])])
    assert intake.expected["first"].mean == pytest.approx(2 * wet[0] + dry[1])
    assert evaluation.ranks["intake"] == {"one": 1, "two": 2, "three": 2}


def test_told_takes_the_steps_before_the_revealing_one(evaluation):
    told = evaluation.scores["ours"]["told"]
    answer = WET * NO_WORK / (WET * NO_WORK).sum()
    assert told.n == 1
    assert told.losses == pytest.approx([-log2(answer[1])])


def test_prior_and_naive_bayes_by_hand(evaluation):
    assert evaluation.scores["prior_only"]["intake"].losses == pytest.approx([-log2(0.6), -log2(0.3), -log2(0.6)])
    # One finding: naive Bayes has nothing to be naive about.
    ours, naive = evaluation.scores["ours"]["intake"], evaluation.scores["naive_bayes"]["intake"]
    assert naive.losses == pytest.approx(ours.losses)
    assert paired(ours, naive)[0] == pytest.approx(0.0, abs=1e-12)


def test_expected_hits_against_all_outcomes():
    chances = [0.1, 0.45, 0.8, 0.97]
    counts = np.zeros(len(chances) + 1)
    for hits in itertools.product((0, 1), repeat=len(chances)):
        counts[sum(hits)] += prod(p if hit else 1 - p for p, hit in zip(chances, hits, strict=True))
    found = expected_hits(chances, share=0.9)
    assert found.mean == pytest.approx(counts @ np.arange(len(counts)))
    assert counts[: found.low].sum() <= 0.05 < counts[: found.low + 1].sum()
    assert counts[found.high + 1 :].sum() <= 0.05 < counts[found.high :].sum()


def scored(tmp_path, text, base=None):
    path = tmp_path / "cases.yaml"
    path.write_text(text, encoding="utf-8")
    cases, problems = read_cases(path)
    assert not problems
    return evaluate(base or knowledge(), cases)


def one_case(**fields):
    told = {"id": "one", "in_scope": "yes", "fitted": "{}", "intake": "{wet: yes}", "steps": "[]", "reveal": "null"}
    told |= {"truth": "[leak]", "family": "leak", **fields}
    return "- {" + ", ".join(f"{name}: {value}" for name, value in told.items()) + "}\n"


def test_the_same_finding_again_is_a_second_look(tmp_path):
    found, problems = scored(tmp_path, one_case(steps="[{wet: yes}, {}]", reveal="2"))
    # As tests/network/test_case_by_hand.py, second looks, but for the complaint: P(yes, yes | faults) = p (0.4 + 0.6 p)
    # of p = 0.01, 0.802, 0.505, 0.901, mixed as above.
    p = np.array([0.01, 0.802, 0.505, 0.901])
    none, leak, clog, both = p * (0.4 + 0.6 * p)
    nothing = 0.8832 * none + 0.0768 * leak + 0.0368 * clog + 0.0032 * both
    weights = np.array([0.6 * (0.96 * leak + 0.04 * both), 0.3 * (0.92 * clog + 0.08 * both), 0.1 * nothing])
    assert not problems
    assert found.scores["ours"]["told"].losses == pytest.approx([-log2(weights[0] / weights.sum())])


def test_unsure_answers_are_taken(tmp_path):
    found, problems = scored(tmp_path, one_case(intake="{wet: 'unsure:yes'}"))
    # An unsure witness is right four times in five, and it is the complaint all the same.
    wet = np.array([0.80596, 0.53668, 0.0918928])
    weights = np.array([0.6, 0.3, 0.1]) * (0.8 * wet + 0.2 * (1 - wet))
    assert not problems
    assert found.scores["ours"]["intake"].losses == pytest.approx([-log2(weights[0] / weights.sum())])


def test_told_needs_a_step_before_the_revealing_one(tmp_path):
    for reveal, cases in (("null", 0), ("1", 0), ("2", 1)):
        found, _ = scored(tmp_path, one_case(steps="[{}, {}]", reveal=reveal))
        assert (found.scores["ours"]["intake"].n, found.scores["ours"]["told"].n) == (1, cases)


def test_what_becomes_of_cases_that_are_in_no_row(tmp_path):
    text = one_case(id="a", truth="[]") + one_case(id="b", truth="[leek]") + one_case(id="c", in_scope="no")
    found, problems = scored(tmp_path, text)
    assert not problems
    assert found.skipped == {"a": "no cause is told", "b": "the base has no cause 'leek'. Did you mean leak?"}
    assert found.not_refused == ("c",)
    assert found.scores["ours"]["intake"].n == 1


def test_former_ids_of_the_truth_are_known(tmp_path):
    base = knowledge()
    renamed = replace(base, causes={**base.causes, "leak": replace(base.causes["leak"], formerly=("drip",))})
    found, _ = scored(tmp_path, one_case(truth="[drip]"), renamed)
    assert found.ranks == {"intake": {"one": 1}, "told": {}}


def test_what_nothing_known_explains_is_a_problem(tmp_path):
    certain = base(
        [cause("leak", 6.0, shows={"wet": 0.8})], [finding("wet", {"yes": 0.0}), finding("smell", {"yes": 0.0})]
    )
    _, (problem,) = scored(tmp_path, one_case(intake="{wet: yes, smell: yes}"), certain)
    assert (problem.code, problem.mark.line, problem.severity) == ("impossible-evidence", 1, "error")


@pytest.mark.parametrize(
    ("fields", "place", "code"),
    [
        ({"fitted": "[fan]"}, "fan", "unknown-id"),
        ({"fitted": "{}", "intake": "{wet: yes, dry: no}"}, "dry", "unknown-id"),
        ({"intake": "{wet: soaked}"}, "soaked", "unknown-state"),
        ({"steps": "[{wer: yes}]", "reveal": "2"}, "wer", "unknown-id"),
    ],
)
def test_an_answer_that_the_base_does_not_know_is_told_by_its_place_once(tmp_path, fields, place, code):
    text = one_case(**fields)
    _, (problem,) = scored(tmp_path, text)
    assert (problem.code, problem.mark.line, problem.mark.column) == (code, 1, text.index(place) + 1)


def test_an_empty_file_of_cases_is_scored_too(tmp_path):
    path = tmp_path / "cases.yaml"
    path.write_text("[]\n", encoding="utf-8")
    ran = CliRunner().invoke(app, ["evaluate", str(path), "--json"])
    answer = json.loads(ran.stdout)
    assert ran.exit_code == 0
    assert answer["ours"]["intake"]["n"] == 0
    assert answer["paired"]["intake"]["mean"] is None
    assert CliRunner().invoke(app, ["evaluate", str(path)]).exit_code == 0


def test_the_command_tells_per_method_and_view(tmp_path):
    path = tmp_path / "cases.yaml"
    path.write_text(
        "- {id: a, in_scope: yes, fitted: [electric_fan], intake: {overheats_standing: yes, fan_silent_hot: yes},\n"
        "   steps: [{fan_fuse_or_relay_bad: yes}], reveal: 2, truth: [fan_supply_fault], family: fan}\n"
        "- {id: b, in_scope: no, fitted: [raw_water_cooled], intake: {}, steps: [], reveal: null, truth: [],\n"
        "   family: boat}\n",
        encoding="utf-8",
    )
    ran = CliRunner().invoke(app, ["evaluate", str(path), "--json"])
    answer = json.loads(ran.stdout)
    assert ran.exit_code == 0
    for method in ("ours", "prior_only", "naive_bayes"):
        for view in ("intake", "told"):
            fields = {"n", "first", "first3", "first5", "family_first", "log_loss"}
            assert fields <= set(answer[method][view])
            assert answer[method][view]["n"] == 1
            assert {f"{name}_{hit}" for name in ("expected", "band") for hit in HITS} <= set(answer[method][view])
    assert list(answer["refused"]) == ["b"]
    screen = CliRunner().invoke(app, ["evaluate", str(path)]).stdout
    assert "Outside the scope, refused: b" in screen
    assert screen.isascii()
    path.write_text(
        "- {id: a, in_scope: yes, fitted: [], intake: {heater: yes}, steps: [], reveal: null, "
        "truth: [cap_weak], family: cap}\n",
        encoding="utf-8",
    )
    ran = CliRunner().invoke(app, ["evaluate", str(path), "--json"])
    assert ran.exit_code == 1
    assert json.loads(ran.stdout)["problems"][0]["line"] == 1
