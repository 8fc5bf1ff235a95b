"""The log into observations: second looks, undo, correction, gone, circumstances, unknown ids and states."""

from __future__ import annotations

import pytest

from diag.case import (
    AccessEntry,
    Case,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    OpenedEntry,
    RepairEntry,
    SettingEntry,
    UndoEntry,
    in_force,
    last_in_force,
    reference_problems,
    replay,
    settings,
)
from diag.knowledge.types import Knowledge
from diag.network.observations import Look, Observations
from diag.text import Mark


def case_with(*entries: Entry) -> Case:
    """A case whose opening is entry 1, so that the first of ``entries`` is entry 2."""
    told = (OpenedEntry(opened={"turbo": False}), *entries)
    return Case("case.yaml", "grey tractor", tuple(e.stamped(n, "", "") for n, e in enumerate(told, start=1)))


def look_at(finding: str, state: str, **more: object) -> FindingEntry:
    return FindingEntry(finding=finding, state=state, **more)  # type: ignore[arg-type]


def observed(knowledge: Knowledge, *entries: Entry) -> Observations:
    observations, problems = replay(case_with(*entries), knowledge)
    assert problems == []
    return observations


def numbers(*entries: Entry) -> list[int]:
    return [entry.number for entry in in_force(case_with(*entries))]


COLD = look_at("bottom_hose_cold", "yes")


def test_an_opened_case_knows_its_fittings_and_nothing_else(knowledge: Knowledge) -> None:
    assert observed(knowledge) == Observations((), (), {"turbo": False}, frozenset(), None, {})


@pytest.mark.parametrize(
    ("state", "likelihood"),
    [
        ("hot", (0.0, 0.0, 1.0)),
        ("unsure:hot", (0.1, 0.1, 0.8)),  # design of record: 0.8 and the rest shared
        ("unsure:hot:0.5", (0.25, 0.25, 0.5)),
        ("unsure:normal:1", (1.0, 0.0, 0.0)),
    ],
)
def test_an_answer_is_a_likelihood(knowledge: Knowledge, state: str, likelihood: tuple[float, ...]) -> None:
    (look,) = observed(knowledge, look_at("gauge_shows", state)).looks
    assert look.likelihood == pytest.approx(likelihood, abs=1e-15)
    assert (look.finding, look.complaint, look.entry, look.trust) == ("gauge_shows", False, 2, 1.0)


def test_second_looks_are_kept_in_order(knowledge: Knowledge) -> None:
    told = observed(knowledge, COLD, look_at("leak_visible", "no"), look_at("bottom_hose_cold", "no"))
    assert [(look.finding, look.entry, look.likelihood) for look in told.looks] == [
        ("bottom_hose_cold", 2, (0.0, 1.0)),
        ("leak_visible", 3, (1.0, 0.0)),
        ("bottom_hose_cold", 4, (1.0, 0.0)),
    ]


def test_history_stands_apart_and_a_former_id_means_the_present_one(knowledge: Knowledge) -> None:
    told = observed(knowledge, look_at("older_than_12_years", "yes"), look_at("gauge_reads", "cold", complaint=True))
    assert told.history == (Look("older_than_12_years", (0.0, 1.0), False, 2, 1.0),)
    assert told.looks == (Look("gauge_shows", (0.0, 1.0, 0.0), True, 3, 1.0),)


def test_gone_ends_a_finding_and_keeps_what_was_seen_before(knowledge: Knowledge) -> None:
    told = observed(knowledge, COLD, look_at("bottom_hose_cold", "gone"))
    assert [look.likelihood for look in told.looks] == [(0.0, 1.0), None]
    assert told.gone == {"bottom_hose_cold"}


def test_a_look_after_gone_shows_that_it_was_not_gone(knowledge: Knowledge) -> None:
    assert observed(knowledge, look_at("bottom_hose_cold", "gone"), COLD).gone == frozenset()


def test_gone_taken_back_is_not_gone(knowledge: Knowledge) -> None:
    assert observed(knowledge, look_at("bottom_hose_cold", "gone"), UndoEntry(undo=2)).gone == frozenset()


@pytest.mark.parametrize(
    ("finding", "when", "trust"),
    [
        ("bottom_hose_cold", (), 1.0),
        ("bottom_hose_cold", ("hot", "running"), 1.0),
        ("bottom_hose_cold", ("hot",), 1.0),
        ("bottom_hose_cold", ("cold",), 0.0),  # opposite of hot
        ("bottom_hose_cold", ("hot", "stopped"), 0.0),
        ("bottom_hose_cold", ("not_running",), 0.0),
        ("bottom_hose_cold", ("drained",), 0.0),  # access step that conflicts with hot
        ("bottom_hose_cold", ("warm",), 0.0),
        ("bottom_hose_cold", ("unknown",), 0.3),
        ("bottom_hose_cold", ("unknown", "cold"), 0.0),
        ("heater_cold", ("hot",), 1.0),  # asks for a warm engine: a hot one will do
        ("leak_visible", ("unknown",), 1.0),  # asks for no circumstance
    ],
)
def test_trust_follows_the_circumstance(
    knowledge: Knowledge, finding: str, when: tuple[str, ...], trust: float
) -> None:
    (look,) = observed(knowledge, look_at(finding, "yes", when=when)).looks
    assert look.trust == trust
    assert look.likelihood == pytest.approx((1.0 - trust, 1.0), abs=1e-15)


def test_undo_takes_back_and_undo_of_undo_gives_back() -> None:
    assert numbers(COLD, UndoEntry(undo=2)) == [1]
    assert numbers(COLD, UndoEntry(undo=2), UndoEntry(undo=3)) == [1, 2]
    assert numbers(COLD, UndoEntry(undo=2), UndoEntry(undo=3), UndoEntry(undo=4)) == [1]


def test_a_correction_stands_where_the_corrected_entry_stood() -> None:
    other = look_at("leak_visible", "yes")
    better = look_at("bottom_hose_cold", "no", instead=2)
    assert numbers(COLD, other, better) == [1, 4, 3]
    assert numbers(COLD, other, better, UndoEntry(undo=4)) == [1, 2, 3]


def test_the_last_correction_counts_whichever_number_it_names() -> None:
    first, second = look_at("bottom_hose_cold", "no", instead=2), look_at("bottom_hose_cold", "gone", instead=2)
    chained = look_at("bottom_hose_cold", "gone", instead=3)
    assert numbers(COLD, first, second) == [1, 4]
    assert numbers(COLD, first, chained) == [1, 4]
    assert numbers(COLD, first, chained, UndoEntry(undo=4)) == [1, 3]


def test_what_a_plain_undo_takes_back() -> None:
    assert last_in_force(case_with()) is None
    told = case_with(COLD, look_at("leak_visible", "yes"), UndoEntry(undo=3))
    assert last_in_force(told) == told.entries[1]


def test_references_to_nothing_are_told_and_do_nothing(knowledge: Knowledge) -> None:
    told = case_with(
        COLD, UndoEntry(undo=9), UndoEntry(undo=1), UndoEntry(undo=5), look_at("leak_visible", "no", instead=3)
    )
    assert [problem.message for problem in reference_problems(told)] == [
        "undo: there is no entry 9 before this one.",
        "undo: entry 1 opens the case; it cannot be taken back or corrected.",
        "undo: there is no entry 5 before this one.",
        "instead: entry 3 is an undo; take it back by 'undo'.",
    ]
    assert [entry.number for entry in in_force(told)] == [1, 2, 6]
    assert replay(told, knowledge)[1] == sorted(reference_problems(told))


def test_the_last_word_on_fittings_access_and_cause_counts(knowledge: Knowledge) -> None:
    told = observed(
        knowledge,
        FittingEntry(fitting="turbo", fitted=None),
        FittingEntry(fitting="viscous_clutch", fitted=False),
        FittingEntry(fitting="viscous_clutch", fitted=True),
        AccessEntry(access="hot", reached=True),
        AccessEntry(access="hot", reached=False),
        AccessEntry(access="drained", reached=True),
        ConfirmedEntry(confirmed="thermostat_stuck_open"),
        ConfirmedEntry(confirmed="not_found"),
    )
    assert told.fitted == {"viscous_clutch": True}
    assert told.access == {"hot": False, "drained": True}
    assert told.confirmed == "not_found"


def test_settings_are_the_last_word_on_each() -> None:
    told = case_with(
        SettingEntry(setting="hour", value="60"), SettingEntry(setting="hour", value="70"), UndoEntry(undo=3)
    )
    assert settings(told) == {"hour": "60"}


PLACE = Mark("case.yaml", 12, 14)


@pytest.mark.parametrize(
    ("entry", "key", "code", "told"),
    [
        (look_at("botom_hose_cold", "yes"), "finding", "unknown-id", "Did you mean bottom_hose_cold"),
        (look_at("thermostat_stuck_open", "yes"), "finding", "wrong-kind", "is a cause"),
        (look_at("feel_hoses", "yes"), "finding", "wrong-kind", "Record what it reveals: bottom_hose_cold."),
        (look_at("gauge_shows", "hott"), "state", "unknown-state", "Did you mean hot"),
        (look_at("gauge_shows", "unsure:hott"), "state", "unknown-state", "Did you mean hot"),
        (look_at("gauge_shows", "unsure:hot:2"), "state", "unknown-state", "'2' is no probability"),
        (look_at("gauge_shows", "unsure:hot:nan"), "state", "unknown-state", "'nan' is no probability"),
        (look_at("gauge_shows", "unsure"), "state", "unknown-state", "Its states: normal, cold, hot"),
        (look_at("heater_cold", "yes", when=("runing",)), "when", "unknown-circumstance", "Did you mean running"),
        (FittingEntry(fitting="trubo", fitted=True), "fitting", "unknown-id", "Did you mean turbo?"),
        (RepairEntry(repair=("turbo",)), "repair", "wrong-kind", "is a fitting"),
        (AccessEntry(access="draind", reached=True), "access", "unknown-id", "Did you mean drained?"),
        (ConfirmedEntry(confirmed="thermostat_stuck"), "confirmed", "unknown-id", "thermostat_stuck_open"),
        (ConfirmedEntry(confirmed="\x1b[31m"), "confirmed", "unknown-id", "'\\u{1b}[31m'"),
        (FindingEntry(finding="gauge_shows", reading="95 C"), "reading", "reading-without-state", "'95 C'"),
    ],
)
def test_what_the_knowledge_does_not_know_is_told_with_its_place_and_left_out(
    knowledge: Knowledge, entry: Entry, key: str, code: str, told: str
) -> None:
    case = case_with(COLD)
    placed = type(entry)(**{**_fields(entry), "number": 3, "marks": {key: PLACE}})
    observations, problems = replay(Case(case.file, "", (*case.entries, placed)), knowledge)
    (problem,) = problems
    assert (problem.mark, problem.code) == (PLACE, code)
    assert told in str(problem)
    assert observations == replay(case, knowledge)[0]


def _fields(entry: Entry) -> dict[str, object]:
    return {name: getattr(entry, name) for name in entry.__dataclass_fields__}


def test_an_unknown_fitting_of_the_opening_is_told(knowledge: Knowledge) -> None:
    opened = OpenedEntry(opened={"trubo": True}).stamped(1, "", "")
    (problem,) = replay(Case("case.yaml", "", (opened,)), knowledge)[1]
    assert problem.hint == "Did you mean turbo?"
