"""What readings were taken to mean: the words, and the factor against enumeration."""

from __future__ import annotations

from io import StringIO

import pytest

from diag.case import Case, OpenedEntry, as_entries
from diag.explain.readings import meant_readings
from diag.knowledge.chosen import load_knowledge
from diag.show.page import Page
from diag.show.readings import add_readings, readings_data, times


def told(*texts: str) -> tuple[str, list[dict]]:
    knowledge = load_knowledge()
    empty = Case("case.yaml", "van", (OpenedEntry(opened={}, number=1),))
    entries, problems = as_entries(empty, knowledge, texts)
    assert problems == []
    case = Case("case.yaml", "van", (*empty.entries, *(e.stamped(n, "", "") for n, e in enumerate(entries, start=2))))
    meant = meant_readings(case, knowledge)
    page, out = Page(), StringIO()
    add_readings(page, knowledge, meant)
    page.print(out)
    return " ".join(out.getvalue().split()), readings_data(meant)


def test_two_low_cylinders_beside_each_other() -> None:
    """Invented. The factor by hand: (0.83 L + 0.1 L1 + ...) over the false alarms of the same states."""
    text, (data,) = told("compression=8.1 8.0 4.2 4.4 bar")
    assert "3 and 4 low beside each other, the lowest is 52 per cent of the highest" in text
    finding = load_knowledge().findings["compression_dry"]
    effect = load_knowledge().effects["compression_low_neighbours"]
    (link,) = [link for link in effect.shows if link.child == finding.id]
    strengths = {state: number.value for state, number in link.strengths["yes"].items()}
    alarms = {state: number.value for state, number in finding.false_alarm.items()}
    alone, chance = 0.0, 0.0
    for shares in (strengths, alarms):
        shares.setdefault("even", 1 - sum(shares.values()))
    for state, value in data["likelihood"].items():
        alone += strengths.get(state, 0.0) * value
        chance += alarms.get(state, 0.0) * value
    assert data["points_to"] == ["compression_low_neighbours", pytest.approx(alone / chance)]
    assert f"{times(alone / chance).capitalize()} likelier under: compression low on two neighbours" in text


def test_even_cylinders_speak_against_a_leak() -> None:
    text, (data,) = told("compression=12 12 11.9 12.1 bar")
    assert "even enough, the lowest is 98 per cent of the highest (75 per cent is the limit)" in text
    assert "times less likely under" in text
    assert data["against"][1] < 0.5


def test_a_limit_says_whose_it_is() -> None:
    assert "0.8 times a general mark of 0.1 mm" in told("head_flatness=0.08 mm")[0]
    text = told("head_flatness=0.08 mm", "spec.head_flatness=0.05 mm")[0]
    assert "1.6 times this vehicle's own mark of 0.05 mm" in text


def test_the_stop_and_the_good_side_are_said() -> None:
    assert "the gauge ends at 2.5 bar, so at least that" in told("cap_opening=2.6 bar of 1.1 bar")[0]
    assert "on the good side, how far does not matter" in told("head_flatness=0 mm")[0]
    assert "at least 1.5 bar" in told("cap_opening=over 1.5 bar of 1.1 bar")[0]


def test_cooling_and_mix_are_said() -> None:
    assert "cooling explains 5.5 of 6 kPa" in told("pressure_drop=0.06 bar in 10 min, 52.5 to 47.5 C")[0]
    text = told("mix=-34.4 C", "spec.cap=1 bar")[0]
    assert "trust it to -34 C of frost, boils at about 129 C under a cap of 1 bar" in text


def test_liquid_in_a_bore_is_warned_of() -> None:
    assert "3 far above all others: liquid or carbon in it, do not crank" in told("compression=8 8 12 8 bar")[0]


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (1.6, "about 2 times"),
        (29.7, "about 30 times"),
        (55.3, "about 60 times"),
        (234, "about 230 times"),
        (5e4, "over 1000 times"),
    ],
)
def test_factors_as_one_says_them(ratio: float, words: str) -> None:
    assert times(ratio) == words
