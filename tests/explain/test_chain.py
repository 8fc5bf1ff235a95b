"""Chains: what came of what, the most probable course with a theory's statements, and what it leaves unexplained."""

from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.judged_cases import judged_cases
from oracle.knowledge import base, cause, effect, finding, look, seen

from diag.explain.chain import Step, best_chains, chain_of
from diag.network import case_explanation
from diag.network.case_network import TARGET, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.explanation import most_probable_explanation

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
YES, NO = (0.0, 1.0), (1.0, 0.0)


def diagnosis(*looks) -> Diagnosis:
    """A leak lowers the level, which makes it hot; a stuck thermostat makes it hot alone; hot bends the head."""
    knowledge = base(
        [cause("leak", 2.0, {"low": 0.9}, {"drip": 0.8}), cause("stuck", 2.0, {"hot": 0.9})],
        [finding("gauge", {"yes": 0.01}), finding("drip", {"yes": 0.02}), finding("bent", {"yes": 0.01})],
        [
            effect("low", {"yes": 0.01}, {"hot": 0.7}),
            effect("hot", {"yes": 0.001}, {"warped": 0.6}, {"gauge": 0.9}),
            effect("warped", {"yes": 0.001}, shows={"bent": 0.9}),
        ],
    )
    return Diagnosis(compile_case(knowledge, seen(*looks)))


def test_chain_from_cause_to_damage():
    (first, *_) = best_chains(diagnosis(look("drip", YES), look("gauge", YES), look("bent", YES)), 2)
    assert first.cause == "leak"
    assert first.steps == (
        Step("low", "yes", ("leak",)),
        Step("hot", "yes", ("low",)),
        Step("warped", "yes", ("hot",)),
    )
    assert first.unexplained == ()


def test_what_a_chain_leaves_unexplained():
    chain = chain_of(diagnosis(look("drip", YES), look("gauge", YES)), "stuck", {"leak": False, "stuck": True})
    assert (chain.cause, chain.beside, chain.unexplained) == ("stuck", (), ("drip",))
    assert chain.steps == (Step("hot", "yes", ("stuck",)),)


def test_an_effect_that_nothing_brings_about_came_by_itself():
    chain = chain_of(diagnosis(look("drip", YES)), "leak", {"warped": True, "hot": False})
    assert Step("warped", "yes", ()) in chain.steps


def test_there_is_no_chain_of_what_cannot_be():
    assert chain_of(diagnosis(look("gauge", YES)), "stuck", {"stuck": False}) is None
    assert chain_of(diagnosis(look("gauge", YES)), "of_another_vehicle", {}) is None


@EXAMPLES
@given(st.data())
def test_best_course_with_statements_against_enumeration(data):
    judged = data.draw(judged_cases())
    said = {
        id: data.draw(st.booleans())
        for id in data.draw(st.lists(st.sampled_from(list(judged.case.knowledge.effects)), unique=True, max_size=2))
    }
    cause_state = data.draw(st.sampled_from(judged.case.states))
    relevant = judged.case.faults.ancestors([*judged.case.likelihood, *said])
    kept = [n for n in judged.case.faults if n in relevant and n.split("~")[0] not in judged.case.knowledge.findings]
    table = judged.slow.joint([TARGET, *kept])[judged.case.states.index(cause_state)]
    for id, there in said.items():
        view = np.moveaxis(table, kept.index(id), 0)
        view[0 if there else slice(1, None)] = 0.0
    chain = chain_of(judged.fast, cause_state, said)
    assert (0.0 if chain is None else chain.probability) == pytest.approx(table.max(), abs=1e-12)


def test_where_too_much_hangs_together_there_is_no_chain(monkeypatch):
    """Under a limit of two cells no gate fits."""
    case = diagnosis(look("drip", YES), look("gauge", YES))
    narrow = partial(most_probable_explanation, limit=2)
    monkeypatch.setattr(case_explanation, "most_probable_explanation", narrow)
    assert best_chains(case, 3) == ()
    assert chain_of(case, "leak", {"hot": True}) is None


def test_acting_parents_are_those_whose_state_acts():
    """Only boiling warps: where it was hot, the warped head came by itself."""
    knowledge = base(
        [cause("stuck", 2.0, {"heat": {"yes": {"hot": 0.9}}})],
        [finding("bent", {"yes": 0.01}), finding("gauge", {"yes": 0.01})],
        [
            effect(
                "heat",
                {},
                {"warped": {"boiled": {"yes": 0.5}}},
                {"gauge": {"hot": {"yes": 0.9}}},
                ("no", "hot", "boiled"),
            ),
            effect("warped", {"yes": 0.01}, shows={"bent": 0.9}),
        ],
    )
    case = Diagnosis(compile_case(knowledge, seen(look("gauge", YES), look("bent", YES))))
    chain = chain_of(case, "stuck", {"warped": True})
    assert chain.steps == (Step("heat", "hot", ("stuck",)), Step("warped", "yes", ()))
