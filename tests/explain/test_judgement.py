"""Judgements moved within their ranges: what bears on a case, who leads, and what each number does by itself."""

from collections import Counter
from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from oracle.enumeration import Enumeration
from oracle.judged_cases import judged_cases
from oracle.knowledge import base, cause, effect, fact, finding, look, seen
from oracle.shipped_cases import random_case, shipped

from diag.explain import judgement
from diag.explain.judgement import SEED, Draws, closest
from diag.explain.numbers import judgements, part_at, part_that_bears, with_value
from diag.knowledge.types import Number
from diag.learn.shaken import shaken
from diag.network.case_network import TARGET, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
YES, NO = (0.0, 1.0), (1.0, 0.0)
DRAWS = 30


def ranged(value):
    """The same data, every number with a range from half of it to half again as much."""
    if isinstance(value, Number):
        return replace(value, low=value.value / 2, high=value.value * 1.5)
    if isinstance(value, dict):
        return {key: ranged(inner) for key, inner in value.items()}
    if isinstance(value, tuple):
        return tuple(ranged(inner) for inner in value)
    if is_dataclass(value):
        return replace(value, **{f.name: ranged(getattr(value, f.name)) for f in fields(value)})
    return value


def small_base():
    """All of it bears on a case in which gauge, drip and age are told; strengths stay below one at half again."""
    return ranged(
        base(
            [cause("stuck", 2.0, {"hot": 0.6}), cause("leak", 3.0, {"hot": 0.4}, {"drip": 0.5})],
            [finding("gauge", {"some": 0.1, "much": 0.05}, ("no", "some", "much")), finding("drip", {"yes": 0.1})],
            [effect("hot", {"yes": 0.05}, shows={"gauge": {"yes": {"some": 0.3, "much": 0.3}}}, residual=0.5)],
            [fact("old", "age", 0.2, {"leak": 2.0})],
        )
    )


OBSERVED = seen(look("gauge", (0.0, 0.3, 1.0)), look("drip", NO), history=[look("old", YES)])


def posterior_by_enumeration(knowledge):
    case = compile_case(knowledge, OBSERVED)
    return case, Enumeration(case.full_network(), case.full_evidence()).posterior(TARGET)


def log_odds(p):
    return 10 * np.log10(p / (1 - p))


@pytest.fixture
def draws():
    return Draws(Diagnosis(compile_case(small_base(), OBSERVED)), shaken, DRAWS)


@EXAMPLES
@given(judged_cases())
def test_what_bears_on_a_case_gives_the_same_answer(judged):
    part = part_that_bears(judged.fast)
    again = Diagnosis(compile_case(part, judged.case.observations))
    assert again.posterior == pytest.approx(judged.slow.posterior(TARGET), abs=1e-10)


@pytest.mark.parametrize("seed", range(3))
def test_what_bears_is_less_than_half_of_the_shipped_base(seed):
    diagnosis = Diagnosis(random_case(shipped(), seed, findings=6))
    part = part_that_bears(diagnosis)
    again = Diagnosis(compile_case(part, diagnosis.case.observations))
    assert again.posterior == pytest.approx(diagnosis.posterior, abs=1e-12)
    assert len(list(judgements(part))) < 0.5 * len(list(judgements(shipped())))


def test_who_leads_and_how_probable_against_enumeration_of_every_draw(draws):
    random, part = np.random.default_rng(SEED), part_that_bears(draws.diagnosis)
    chances, led = [], Counter()
    for _ in range(DRAWS):
        case, posterior = posterior_by_enumeration(shaken(part, random))
        lines = Counter()
        for state, p in zip(case.states, posterior, strict=True):
            lines["unlisted" if state.startswith(UNLISTED) else state] += p
        led[max(lines, key=lambda line: lines[line])] += 1
        chances.append(lines["leak"])
    answer = draws.about("leak")
    assert dict(answer.leads) == pytest.approx({line: number / DRAWS for line, number in led.items()})
    assert len(led) > 1
    assert answer.probability == pytest.approx(np.percentile(chances, (5, 50, 95)), abs=1e-10)
    assert answer.decibans == pytest.approx(log_odds(posterior_by_enumeration(small_base())[1][1]), abs=1e-8)


@pytest.mark.parametrize("asked", ["leak", "stuck"])
def test_numbers_that_matter_against_enumeration_of_them_all(draws, asked, monkeypatch):
    monkeypatch.setattr(judgement, "LOOKED_AT", DRAWS - 2)
    swings = {}
    for path, number in judgements(small_base()):
        ends = []
        for end in (number.low, number.high):
            case, posterior = posterior_by_enumeration(with_value(small_base(), path, end))
            ends.append(log_odds(posterior[case.states.index(asked)]))
        swings[path] = ends
    answer = draws.about(asked)
    sizes = sorted((abs(high - low) for low, high in swings.values()), reverse=True)
    assert [matter.swing for matter in answer.matter] == pytest.approx(sizes[:3], abs=1e-8)
    for matter in answer.matter:
        assert (matter.at_low, matter.at_high) == pytest.approx(swings[matter.path], abs=1e-8)


def test_a_link_tells_its_child(draws, monkeypatch):
    monkeypatch.setattr(judgement, "MATTER", 100)
    children = {m.path[1]: m.child for m in draws.about("leak").matter if m.path[2] == "shows"}
    assert children.items() <= {"leak": "drip", "hot": "gauge"}.items()
    assert all(m.child == "" for m in draws.about("leak").matter if m.path[2] not in ("shows", "leads_to"))


def test_states_of_one_distribution_are_never_moved_beyond_one():
    """Of two states of 0.6 and 0.3 the first can grow to 0.7 only, though its range goes to 0.95."""
    wide = finding("gauge", {"some": 0.6, "much": 0.3}, ("no", "some", "much"))
    number = replace(wide.false_alarm["some"], low=0.3, high=0.95)
    knowledge = base([cause("a", 1.0, shows={"gauge": {"yes": {"much": 0.5}}}), cause("b", 2.0)], [wide])
    knowledge = with_range(knowledge, number)
    observed = seen(look("gauge", (0.0, 1.0, 0.0)))
    (matter,) = Draws(Diagnosis(compile_case(knowledge, observed)), shaken, 20).about("a").matter
    at_most = Diagnosis(compile_case(with_value(knowledge, matter.path, 0.7), observed)).posterior[0]
    assert matter.at_high == pytest.approx(log_odds(at_most), abs=1e-9)


def with_range(knowledge, number):
    gauge = knowledge.findings["gauge"]
    told = replace(gauge, false_alarm={**gauge.false_alarm, "some": number})
    return replace(knowledge, findings={"gauge": told})


def test_closest_finds_the_columns_that_made_the_answer():
    random = np.random.default_rng(4)
    values = random.normal(size=(200, 300))
    answer = 3 * values[:, 7] - 2 * values[:, 3] + 0.6 * values[:, 11] + 0.2 * random.normal(size=200)
    assert closest(values, answer, 3) == [7, 3, 11]
    constant = np.hstack([np.ones((200, 1)), values])
    assert closest(constant, answer, 3) == [8, 4, 12]


def test_judgements_are_those_with_room_and_each_can_be_found_and_changed():
    knowledge = small_base()
    found = dict(judgements(knowledge))
    assert all(part_at(knowledge, path) is number for path, number in found.items())
    for path in found:
        changed = dict(judgements(with_value(knowledge, path, found[path].high)))
        assert {p for p, number in changed.items() if number != found[p]} == {path}
    path = ("findings", "gauge", "false_alarm", "some")
    for other in ({"grade": "published"}, {"value": 0.0, "low": 0.0}, {"low": None, "high": None}):
        assert path not in dict(judgements(with_range(knowledge, replace(found[path], **other))))
