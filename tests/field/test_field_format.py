"""The field cases say only what the base knows, and say it through one table. Nothing here ranks anything."""

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from diag.knowledge.load import load_in_part, shipped_folder
from diag.knowledge.types import Knowledge
from diag.text import parse

FOLDER = Path(__file__).parent
FILES = ("cases.yaml", "tags.yaml", "causes.yaml", "sources.yaml")
FIELDS = {
    *("id", "about", "grade", "circuit", "in_scope", "fitted", "tags", "beside_tags"),
    *("intake", "steps", "reveal", "roots", "truth", "family"),
}
WAYS = ("present", "absent")
UNSURE = re.compile(r"unsure:([a-z_]+)")
# A part renewed before the trouble and not because of it, and the same part renewed because of it: never both.
RENEWED = {
    "thermostat_replaced": "thermostat_in_vain",
    "pump_or_belt_replaced": "pump_in_vain",
    "radiator_replaced": "radiator_in_vain",
    "auxiliary_pump_replaced": "small_pump_in_vain",
}
Case = dict[str, Any]


def _read(name: str) -> Any:
    """A file with every scalar as text, so that yes, no and off stay what they are."""
    return yaml.load((FOLDER / name).read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


CASES: list[Case] = _read("cases.yaml")
TAGS = _read("tags.yaml")
ROOTS = _read("causes.yaml")
SOURCES = _read("sources.yaml")

every_case = pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])


@cache
def _base() -> Knowledge:
    return load_in_part(shipped_folder())[0]


def _states(entry: str) -> tuple[str, ...]:
    known = _base().findings.get(entry) or _base().history.get(entry)
    return known.states if known else ()


def _state(told: str) -> str:
    """The state that an answer names, sure or not."""
    unsure = UNSURE.fullmatch(told)
    return unsure[1] if unsure else told


def _told(case: Case) -> list[tuple[str, str]]:
    """Every answer of a case, intake and steps."""
    return [answer for told in (case["intake"], *case["steps"]) for answer in told.items()]


def _held(case: Case) -> list[tuple[str, dict[str, str], dict[str, str]]]:
    """Each tag of a case that the table holds, with its findings and the map they belong to."""
    held = []
    for way in WAYS:
        for tag in case["tags"][way]:
            step = case["tags"]["in_step"].get(tag)
            place = case["steps"][int(step) - 1] if step else case["intake"]
            findings = TAGS[tag][way]
            if isinstance(findings, dict):
                held.append((tag, findings, place))
    return held


@pytest.mark.parametrize("name", FILES)
def test_the_projects_own_reader_finds_nothing_wrong(name: str) -> None:
    _, problems = parse((FOLDER / name).read_text(encoding="utf-8"), name)
    assert problems == []


@every_case
def test_fields(case: Case) -> None:
    assert set(case) == FIELDS
    assert re.fullmatch(r"R\d\d", case["id"])
    assert case["grade"] in ("A", "B", "C")
    assert case["circuit"] in ("closed", "closed + raw water", "raw water", "not told")
    assert case["about"] and case["steps"]


@every_case
def test_what_is_told_exists_in_the_base(case: Case) -> None:
    assert [entry for entry, told in _told(case) if _state(told) not in _states(entry)] == []
    assert set(case["fitted"]) <= set(_base().fittings)
    assert set(case["fitted"].values()) <= {"yes", "no"}


@every_case
def test_a_part_was_renewed_because_of_the_trouble_or_not(case: Case) -> None:
    yes = {entry for entry, told in _told(case) if _state(told) == "yes"}
    assert [before for before, in_vain in RENEWED.items() if {before, in_vain} <= yes] == []


@every_case
def test_the_revealing_step_is_one_of_the_steps_or_null(case: Case) -> None:
    steps = [str(number) for number in range(1, len(case["steps"]) + 1)]
    assert case["reveal"] in ["null", *steps]


@every_case
def test_out_of_scope_is_what_a_fitting_refuses(case: Case) -> None:
    refusing = [fitting for fitting in _base().fittings.values() if fitting.refuses]
    refused = any(case["fitted"].get(fitting.id) == "yes" for fitting in refusing)
    assert case["in_scope"] == ("no" if refused else "yes")
    assert (case["in_scope"] == "yes") == (case["circuit"] == "closed")


@every_case
def test_tags_are_held_through_the_table_and_all_else_is_named(case: Case) -> None:
    held = _held(case)
    assert [tag for tag, findings, place in held if not findings.items() <= place.items()] == []
    from_tags = {entry for _, findings, place in held if place is case["intake"] for entry in findings}
    assert set(case["beside_tags"]) == set(case["intake"]) - from_tags


def test_every_tag_and_way_of_the_table_is_used() -> None:
    used = {(tag, way) for case in CASES for way in WAYS for tag in case["tags"][way]}
    assert used == {(tag, way) for tag, ways in TAGS.items() for way in ways}


def test_a_tag_is_held_or_skipped_for_a_reason() -> None:
    told = [findings for ways in TAGS.values() for findings in ways.values()]
    assert all(findings for findings in told)
    assert [text for text in told if isinstance(text, str) and not text.startswith("skip, ")] == []


@every_case
def test_truth_and_family_follow_from_the_roots(case: Case) -> None:
    lists = [ROOTS[root] for root in case["roots"] if isinstance(ROOTS[root], list)]
    truth = list(dict.fromkeys(cause for causes in lists for cause in causes))
    assert case["truth"] == truth
    assert set(truth) <= set(_base().causes)
    assert case["family"] == (_base().causes[truth[0]].family if truth else "null")


def test_every_root_of_the_table_is_used_and_held_or_skipped_for_a_reason() -> None:
    assert {root for case in CASES for root in case["roots"]} == set(ROOTS)
    assert [text for text in ROOTS.values() if isinstance(text, str) and not text.startswith("skip, ")] == []


@every_case
def test_what_is_told_of_the_vehicle_leaves_room_for_the_truth(case: Case) -> None:
    for cause in (_base().causes[each] for each in case["truth"]):
        assert [fitting for fitting in cause.fitted if case["fitted"].get(fitting) == "no"] == []
        assert [fitting for fitting in cause.not_fitted if case["fitted"].get(fitting) == "yes"] == []


def test_every_case_has_a_source_and_every_source_a_case() -> None:
    assert list(SOURCES) == [case["id"] for case in CASES]
    for source in SOURCES.values():
        assert {"title"} <= set(source) <= {"title", "address"}
        assert re.match(r"https?://", source.get("address", "https://"))


def test_how_many_cases_there_are_to_score() -> None:
    ids = [case["id"] for case in CASES]
    assert len(ids) == len(set(ids)) == 63  # regression: what was collected
    good = [case for case in CASES if case["circuit"] == "closed" and case["grade"] in ("A", "B")]
    assert len(good) == 43  # regression: counted in the collection
    assert [case["id"] for case in good if not case["truth"]] == []
