"""The grammar of a number, from both sides: what is read, and what is refused with its code."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diag.knowledge import GRADES, Number
from diag.knowledge.number import read_number
from diag.text import ListNode, Mark, Problem, TextNode

MARK = Mark("f.yaml", 4, 9)


def read(text: str) -> tuple[Number, list[Problem]]:
    problems: list[Problem] = []
    return read_number(TextNode(text, "f.yaml", 4, 9), problems), problems


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.85 (0.7..0.95) judgement", Number(0.85, "judgement", MARK, 0.7, 0.95)),
        ("75 published nav_cm1", Number(75.0, "published", MARK, reference="nav_cm1")),
        ("12 common_practice", Number(12.0, "common_practice", MARK)),
        ("1..2 judgement", None),
        ("3 (1..5) computed iapws", Number(3.0, "computed", MARK, 1.0, 5.0, "iapws")),
        ("-4 from_memory", Number(-4.0, "from_memory", MARK)),
        ("1e-3 ( 5e-4 .. 2E-3 )  judgement", Number(0.001, "judgement", MARK, 0.0005, 0.002)),
    ],
)
def test_a_number_is_value_range_grade_and_reference(text: str, expected: Number | None) -> None:
    number, problems = read(text)
    if expected is None:
        assert [p.code for p in problems] == ["not-a-number"]
    else:
        assert (number, problems) == (expected, [])


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "not-a-number"),
        ("some", "not-a-number"),
        ("judgement", "not-a-number"),
        ("0,85 judgement", "not-a-number"),
        (".5 judgement", "not-a-number"),
        ("nan judgement", "not-a-number"),
        ("inf judgement", "not-a-number"),
        ("1_000 judgement", "not-a-number"),
        ("\u0663 judgement", "not-a-number"),
        ("0.85 (0.7-0.95) judgement", "not-a-number"),
        ("0.85 (0.7) judgement", "not-a-number"),
        ("0.85 [0.7..0.95] judgement", "not-a-number"),
        ("0.85 (0.7..0.95) judgement one two", "not-a-number"),
        ("1e999 judgement", "not-a-number"),
        ("1 (0..1e999) judgement", "not-a-number"),
        ("0.85", "missing-grade"),
        ("0.85 (0.7..0.95)", "missing-grade"),
        ("0.85 (0.7..0.95) judgment", "unknown-grade"),
        ("0.85 Judgement", "unknown-grade"),
        ("75 nav_cm1", "unknown-grade"),
    ],
)
def test_what_is_no_number_is_told_at_its_place(text: str, code: str) -> None:
    _, problems = read(text)
    assert [(p.code, p.mark) for p in problems] == [(code, MARK)]


def test_the_nearest_grade_is_named() -> None:
    assert read("0.85 (0.7..0.95) judgment")[1][0].hint == "Did you mean judgement?"


def test_a_list_is_no_number() -> None:
    problems: list[Problem] = []
    read_number(ListNode((), "f.yaml", 4, 9), problems)
    assert [(p.code, p.mark) for p in problems] == [("not-a-number", MARK)]


FIGURES = st.floats(1e-9, 1e6) | st.integers(0, 10**6).map(float)


@given(
    FIGURES,
    st.none() | st.tuples(FIGURES, FIGURES),
    st.sampled_from(GRADES),
    st.none() | st.from_regex(r"[a-z][a-z0-9_]*", fullmatch=True),
)
def test_every_number_that_is_written_is_read_back(
    value: float, bounds: tuple[float, float] | None, grade: str, reference: str | None
) -> None:
    limits = f" ({bounds[0]!r}..{bounds[1]!r})" if bounds else ""
    number, problems = read(f"{value!r}{limits} {grade}{f' {reference}' if reference else ''}")
    assert problems == []
    low, high = bounds or (None, None)
    assert number == Number(value, grade, MARK, low, high, reference)
