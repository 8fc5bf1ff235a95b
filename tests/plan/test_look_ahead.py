"""Plans as trees: probabilities, costs and edges."""

import pytest
from oracle.workshop import SHARP, diagnosis, tiny

from diag.plan import Settings, rank
from diag.plan.actions import actions
from diag.plan.look_ahead import PlanPoint, plan

PLAIN = Settings(attention_minutes=0.0, certainty=0.99)
REPAIR = 25 + 100  # an hour at 25 and 100 of parts


def points(point: PlanPoint):
    yield point
    for branch in point.branches:
        yield from points(branch.then)


def test_the_tree_of_one_sharp_test_by_hand():
    """T costs 25 / 6; then the likelier cause first: repair + error x repair, against repair + 0.5 x repair without."""
    made = plan(diagnosis(tiny()), PLAIN, 2)
    assert made.root.act is not None and made.root.act.id == "T"
    assert sum(branch.probability for branch in made.root.branches) == pytest.approx(1.0)
    assert made.root.expected_cost == pytest.approx(10 * 25 / 60 + REPAIR + SHARP * REPAIR, rel=1e-4)
    assert made.sure == 0.0  # 0.969 at most, below the certainty wanted
    assert plan(diagnosis(tiny()), Settings(attention_minutes=0.0, certainty=0.9), 2).sure == pytest.approx(1.0)
    # 10 minutes of test and one repair; in one case of thirty a second one
    assert made.minutes == (70.0, 70.0) and made.money == (100.0, 100.0)


def test_a_test_that_tells_nothing_is_in_no_plan():
    made = plan(diagnosis(tiny(sharp=False)), PLAIN, 2)
    assert made.root.act is None and made.root.why == "nothing left that tells"
    assert made.root.expected_cost == pytest.approx(REPAIR + 0.5 * REPAIR, rel=1e-4)


def test_all_done_and_cost_nought_are_answered():
    done = diagnosis(tiny(), gone=("f",))
    assert rank(done, PLAIN).tests == () and rank(done, PLAIN).stop.advised
    assert plan(done, PLAIN, 2).root.act is None
    free = Settings(hour=0.01, attention_minutes=0.0)
    assert rank(diagnosis(tiny()), free).tests[0].id == "T"


def test_a_test_not_worth_its_cost_is_advised_against_and_said():
    """T takes 10 minutes; at 10,000 an hour it costs 1,667, and saves 0.47 of a repair of 10,100."""
    cheap_ending = Settings(hour=10_000.0, attention_minutes=0.0, ending=500.0)
    ranking = rank(diagnosis(tiny()), cheap_ending)
    assert ranking.stop.advised and "saves more than it costs" in ranking.stop.why
    assert [test.id for test in ranking.tests] == ["T"]  # ranking goes on
    assert actions(diagnosis(tiny()), ranking.repairs)[0].kind == "end"


def test_repairs_and_ending_with_their_expected_cost():
    ranking = rank(diagnosis(tiny()), PLAIN)
    found = {action.id: action for action in actions(diagnosis(tiny()), ranking.repairs)}
    assert found["a"].expected_cost == pytest.approx(REPAIR + 0.5 * REPAIR, rel=1e-4)
    assert found["a"].probability == pytest.approx(0.5, rel=1e-4)
    assert found["end"].expected_cost == PLAIN.ending
