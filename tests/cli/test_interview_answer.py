"""What is typed at a prompt of the interview, and what brought the vehicle in."""

from __future__ import annotations

from functools import cache

import pytest

from diag.case import Answer, read_answer
from diag.cli.interview_answer import Told, Unclear, Wish, understand, wish_of, word_of
from diag.cli.interview_complaint import SHOWN, complaints, meant
from diag.knowledge.types import Finding, Knowledge
from diag.session import load_knowledge


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


def finding(id: str) -> Finding:
    return knowledge().findings[id]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("yes", "yes"),
        ("y", "yes"),
        (" YES ", "yes"),
        ("no", "no"),
        ("n", "no"),
        ("2", "yes"),
        ("1", "no"),
        ("u yes", "unsure:yes"),
        ("?yes", "unsure:yes"),
        ("? y", "unsure:yes"),
        ("unsure no", "unsure:no"),
        ("unsure:yes", "unsure:yes"),
        ("u 2", "unsure:yes"),
        ("g", "gone"),
        ("gone", "gone"),
    ],
)
def test_an_answer_with_two_states(typed: str, told: str) -> None:
    assert understand(typed, finding("leak_visible")) == Told(told)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("full", "full"),
        ("at the mark", "full"),
        ("below", "low"),
        ("3", "empty"),
        ("u below the mark", "unsure:low"),
        ("emp", "empty"),
    ],
)
def test_an_answer_with_more_states(typed: str, told: str) -> None:
    assert understand(typed, finding("coolant_level_seen")) == Told(told)


def test_a_history_fact_is_answered_like_a_finding() -> None:
    assert understand("y", knowledge().history["older_than_12_years"]) == Told("yes")


@pytest.mark.parametrize(
    ("typed", "wish"),
    [
        ("d", Wish.DONT_KNOW),
        ("Don't  know", Wish.DONT_KNOW),
        ("c", Wish.CANNOT),
        ("b", Wish.BACK),
        ("back", Wish.BACK),
        ("s", Wish.STOP),
        ("h", Wish.HELP),
        ("?", Wish.HELP),
    ],
)
def test_a_wish_is_no_answer(typed: str, wish: Wish) -> None:
    assert understand(typed, finding("leak_visible")) is wish
    assert wish_of(typed) is wish


@pytest.mark.parametrize(
    "typed", ["", "maybe", "0", "3", "-1", "u maybe", "?", "99999999999", "0.3 bar", "\x1b[31m", "u"]
)
def test_what_is_neither_is_never_taken_for_an_answer(typed: str) -> None:
    assert not isinstance(understand(typed, finding("leak_visible")), Told)


def test_a_mistyped_answer_is_answered_with_the_nearest_and_two_that_fit_with_both() -> None:
    reply = understand("at teh mark", finding("coolant_level_seen"))
    assert isinstance(reply, Unclear)
    assert "at the mark" in reply.why
    both = understand("falls", finding("pressure_test_result"))
    assert isinstance(both, Unclear)
    assert all(word in both.why for word in ("something is wet", "nothing is wet"))


def test_every_state_of_every_finding_can_be_told_by_id_word_and_number() -> None:
    for asked in (*knowledge().findings.values(), *knowledge().history.values()):
        for number, state in enumerate(asked.states, start=1):
            for typed in (state, word_of(asked, state), str(number)):
                assert understand(typed, asked) == Told(state), (asked.id, typed)


def test_what_is_told_can_be_recorded() -> None:
    asked = finding("coolant_level_seen")
    for typed in ("full", "u low", "g"):
        reply = understand(typed, asked)
        assert isinstance(reply, Told)
        assert isinstance(read_answer(reply.text, asked.states, asked.words), Answer)


@pytest.mark.parametrize(
    ("words", "id"),
    [
        ("overheats in traffic", "overheats_standing"),
        ("loses coolant", "coolant_level_drops"),
        ("heatr blows cold", "heater_cold"),
        ("puddle under the car", "leak_visible"),
        ("white smoke sweet exhaust", "white_sweet_exhaust"),
        ("the needle goes into the red when it is pulling a trailer", "overheats_at_load"),
    ],
)
def test_free_words_find_the_complaint_by_name_and_synonym(words: str, id: str) -> None:
    near = meant(words, knowledge(), complaints(knowledge()))
    assert id in [complaint.finding for complaint in near[:3]]
    assert len(near) <= SHOWN


@pytest.mark.parametrize("words", ["qqqq zzzz", "\x00", "\ud800", "x" * 100_000])
def test_words_that_mean_nothing_find_nothing(words: str) -> None:
    assert meant(words, knowledge(), complaints(knowledge())) == ()


def test_every_state_that_stands_out_is_a_complaint_of_its_own() -> None:
    told = [(c.finding, c.state) for c in complaints(knowledge())]
    assert ("gauge_shows", "cold") in told
    assert ("gauge_shows", "hot") in told
    assert ("gauge_shows", "normal") not in told
    assert len({c.text for c in complaints(knowledge())}) == len(told)
