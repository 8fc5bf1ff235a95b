"""Every invariant, broken once: the code, the line and the column; and the shipped base, which breaks none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diag.knowledge import load, shipped_folder
from diag.knowledge.types import GRADES
from diag.knowledge.validate import CHECKS, counts, validate, validate_folder

Spoil = Callable[[str, str, str], Path]
PUMP = "chapters/pump.yaml"
BELT = "name: belt lost, family: belt, weight: 1 (0..2) judgement"
AIR = "name: air in it, leak: 0.01 (0..0.02) judgement"
SMELL = "name: smell, question: Does it smell?, ask: yes, false_alarm: 0.1 (0..0.2) judgement"
MEND = "name: mend it, minutes: 5 common_practice, money: 5 common_practice, success: 1 common_practice"

GAUGE = "    states: [normal, low, high]\n    words: {high: in the red}\n    false_alarm: {low"

# file, what stands there, what stands there instead, code, line, column
BROKEN = [
    # numbers
    (PUMP, "      flow_weak: 0.8 (0.6..0.9)", "      flow_weak: 8 (6..9)", "out-of-range", 9, 18),
    (PUMP, "      flow_weak: 0.8 (0.6..0.9)", "      flow_weak: 0.8 (0.6..1.9)", "out-of-range", 9, 18),
    (PUMP, "weight: 6 (4..9) judgement", "weight: 0 common_practice", "out-of-range", 7, 13),
    (PUMP, "weight: 6 (4..9) judgement", "weight: -1 common_practice", "out-of-range", 7, 13),
    (PUMP, "minutes: 90 (60..180)", "minutes: -90 (-180..-60)", "out-of-range", 15, 16),
    (PUMP, "money: 60 (30..150)", "money: -60 (-150..-30)", "out-of-range", 16, 14),
    (PUMP, "success: 0.95 (0.9..0.99) judgement", "success: 95 common_practice", "out-of-range", 17, 16),
    (PUMP, "{pump_worn: 0.01 (0..0.05)", "{pump_worn: 1.01 (0..1.05)", "out-of-range", 20, 30),
    (PUMP, "residual: 0.5 (0.1..1)", "residual: 500 (1..1000)", "out-of-range", 30, 15),
    (PUMP, "{flow_weak: 0.1 (0..0.3)", "{flow_weak: 1.1 (0..1.3)", "out-of-range", 46, 31),
    (PUMP, "    skill: 2", "    skill: 4", "out-of-range", 70, 3),
    (PUMP, "waiting: 1 common_practice", "waiting: -1 common_practice", "out-of-range", 87, 14),
    ("access.yaml", "undo_minutes: 20 (10..40)", "undo_minutes: -20 (-40..-10)", "out-of-range", 12, 19),
    ("vehicle.yaml", "share: 0.5 (0.3..0.7)", "share: 1.5 (0.3..1.7)", "out-of-range", 2, 60),
    ("history.yaml", "base: 0.2 (0.1..0.4)", "base: 2 (1..4)", "out-of-range", 6, 11),
    ("model.yaml", "the first, value: 0.5 (0.3..0.7)", "the first, value: 5 (3..7)", "out-of-range", 4, 73),
    ("model.yaml", "0.1 (0.05..0.2) judgement", "0 common_practice", "out-of-range", 2, 46),
    (PUMP, "weight: 6 (4..9)", "weight: 6 (7..9)", "range-misses-value", 7, 13),
    (PUMP, "weight: 6 (4..9)", "weight: 6 (9..4)", "range-misses-value", 7, 13),
    (PUMP, "weight: 6 (4..9) judgement", "weight: 6 judgement", "judgement-without-range", 7, 13),
    (PUMP, "0.5 published handbook", "0.5 published", "missing-reference", 11, 19),
    (PUMP, "0.5 published handbook", "0.5 computed", "missing-reference", 11, 19),
    (PUMP, "0.5 published handbook", "0.5 published handbok", "unknown-reference", 11, 19),
    ("history.yaml", "{pump_worn: 4 (2..8)", "{pump_worn: 0 (0..8)", "factor-out-of-range", 7, 26),
    ("history.yaml", "{pump_worn: 4 (2..8)", "{pump_worn: 4 (2..800)", "factor-out-of-range", 7, 26),
    # numbers that belong together
    (PUMP, "{hot: 0.5 (0.3..0.7)", "{hot: 0.8 (0.3..0.9)", "strengths-above-one", 32, 19),
    (PUMP, "leak: {hot: 0.01 (0..0.02)", "leak: {hot: 0.999 (0..1)", "strengths-above-one", 37, 17),
    (PUMP, "false_alarm: {low: 0.02 (0..0.05)", "false_alarm: {low: 0.995 (0..1)", "strengths-above-one", 56, 24),
    (PUMP, "{low: 0.02 (0..0.05) judgement, ", "{", "impossible-answer", 51, 3),
    (PUMP, "false_alarm: 0.05 (0..0.1) judgement", "false_alarm: 0 common_practice", "impossible-answer", 59, 3),
    (PUMP, "false_alarm: 0.05 (0..0.1) judgement", "false_alarm: 1 common_practice", "impossible-answer", 59, 3),
    (PUMP, "    gate: and", "    gate: k_of_n", "wrong-gate", 42, 3),
    (PUMP, "    gate: and", "    gate: k_of_n\n    k: 2", "wrong-gate", 42, 3),
    (PUMP, "    states: [none, hot, boiled]", "    states: [none, hot, boiled]\n    gate: and", "wrong-gate", 33, 3),
    # the net
    (PUMP, "    gate: and", "    gate: and\n    leads_to: {flow_weak: 0.1 (0..0.2) judgement}", "cycle", 46, 16),
    (PUMP, "{flow_weak: 0.1 (0..0.3)", "{head_warped: 0.1 (0..0.3)", "cycle", 46, 33),
    ("access.yaml", "  cold: {", "  cold: {needs: [head_off], ", "cycle", 9, 3),
    (PUMP, "effects:\n", f"  belt_lost: {{{BELT}}}\neffects:\n", "cause-without-effect", 25, 3),
    (PUMP, "effects:\n", f"effects:\n  air_in: {{kind: mechanism, {AIR}}}\n", "effect-without-cause", 26, 3),
    (PUMP, "effects:\n", f"effects:\n  bore_scored: {{kind: damage, {AIR}}}\n", "unreachable-damage", 26, 3),
    (PUMP, "findings:\n", f"findings:\n  smell: {{{SMELL}}}\n", "finding-without-parent", 51, 3),
    # tests and access
    (PUMP, "{no: no light, yes: light below it}", "{no: no light}", "test-without-outcome", 82, 3),
    (PUMP, "{no: no light, yes: light below it}", "{no: no light, yes: ''}", "test-without-outcome", 82, 3),
    (PUMP, "      head_bent: {", "      gauge: {low: x}\n      head_bent: {", "outcome-not-revealed", 82, 3),
    (PUMP, "    how: [Clean it., Lay it.]", "    how: []", "test-without-steps", 82, 3),
    (PUMP, "    reveals: [head_bent]", f"    reveals: [{', '.join(['head_bent'] * 5)}]", "wrong-size", 82, 3),
    (PUMP, "    access: [head_off]", "    access: [head_off, running]", "access-conflict", 82, 3),
    (PUMP, "      access: [drained]", "      access: [drained, running]", "access-conflict", 13, 5),
    ("access.yaml", "    needs: [cold]", "    needs: [cold, running]", "access-conflict", 9, 3),
    (PUMP, "    access: [running]\n", "    access: [drained]\n", "condition-ruled-out", 70, 3),
    (PUMP, "    ask: yes", "    ask: no", "finding-without-test", 51, 3),
    # words
    (PUMP, "    question: Is the head bent?\n", "", "finding-without-question", 64, 3),
    ("hazards.yaml", ', caution: "Let it cool first."', "", "hazard-without-caution", 2, 3),
    ("hazards.yaml", "Let it cool first.", "See hand_book.", "unknown-id", 2, 3),
    (PUMP, "formerly: [pump_bad]", "formerly: [heat]", "id-used-twice", 3, 3),
    (PUMP, "formerly: [pump_bad]", "formerly: [pump_worn]", "id-used-twice", 3, 3),
    (PUMP, "    residual: 0.5", f"    repair: {{{MEND}}}\n    residual: 0.5", "repair-of-mechanism", 30, 5),
    (
        PUMP,
        GAUGE,
        GAUGE.replace("]", ", gone]").replace("{low", "{gone: 0.1 common_practice, low"),
        "reserved-word",
        51,
        3,
    ),
]


def test_the_small_base_breaks_nothing(small_base: Path) -> None:
    assert validate_folder(small_base)[1] == []


@pytest.mark.parametrize(("file", "old", "new", "code", "line", "column"), BROKEN)
def test_a_broken_invariant_is_told_with_code_line_and_column(
    spoiled: Spoil, file: str, old: str, new: str, code: str, line: int, column: int
) -> None:
    folder = spoiled(file, old, new)
    knowledge, problems = validate_folder(folder)
    assert [(p.code, p.mark.line, p.mark.column) for p in problems if p.severity == "error"] == [(code, line, column)]
    assert problems[0].mark.file == (folder / file).as_posix()
    assert load(folder) == (knowledge, [])  # readable all the same: only its meaning is wrong


# The two that are warnings: a base with them is fit for use.
WARNED = [
    (PUMP, "0.5 published handbook", "0.5 (0.3..0.7) judgement", "", 0, 0),
    ("history.yaml", "{pump_worn: 4 (2..8)", "{pump_worn: 8 (4..16)", "factor-capped", 7, 26),
    ("references.yaml", "references:", "references:\n  leaflet: {name: A leaflet}", "unused-reference", 2, 3),
]


@pytest.mark.parametrize(("file", "old", "new", "code", "line", "column"), WARNED)
def test_a_warning_is_told_as_one(
    spoiled: Spoil, file: str, old: str, new: str, code: str, line: int, column: int
) -> None:
    _, problems = validate_folder(spoiled(file, old, new))
    told = [(p.severity, p.code, p.mark.line, p.mark.column) for p in problems]
    # The first of the three leaves no number with the reference, but a text still names it.
    assert told == ([("warning", code, line, column)] if code else [])


def test_unknown_ids_do_not_keep_the_other_checks_back(spoiled: Spoil) -> None:
    _, problems = validate_folder(spoiled(PUMP, "      flow_weak: 0.8 (0.6..0.9)", "      flow_week: 0.8 (0.6..0.9)"))
    assert [(p.code, p.mark.line, p.mark.column) for p in problems] == [
        ("unknown-id", 9, 7),
        ("effect-without-cause", 26, 3),
        ("effect-without-cause", 33, 3),
        ("unreachable-damage", 42, 3),
    ]


def test_entries_that_cannot_be_read_keep_them_back(spoiled: Spoil) -> None:
    _, problems = validate_folder(spoiled(PUMP, "weight: 6 (4..9) judgement", "weight: 6"))
    assert [p.code for p in problems] == ["missing-grade"]


def test_checks_are_a_tuple_of_different_functions() -> None:
    assert isinstance(CHECKS, tuple)
    assert len(set(CHECKS)) == len(CHECKS)


def test_counts_of_the_small_base(small_base: Path) -> None:
    told = counts(validate_folder(small_base)[0])
    # Counted by hand in the files.
    assert (told["causes"], told["effects"], told["findings"], told["tests"], told["access"]) == (1, 3, 3, 2, 4)
    assert (told["links"], told["published"], told["common_practice"]) == (6, 1, 8)
    assert told["numbers"] == sum(told[grade] for grade in GRADES)


def test_the_shipped_base_breaks_nothing() -> None:
    knowledge, problems = load(shipped_folder())
    assert problems == []
    assert knowledge is not None
    assert [str(p) for p in validate(knowledge) if p.severity == "error"] == []
