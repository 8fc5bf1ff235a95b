"""All invariants of a knowledge base in one tuple, and what it counts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from diag.knowledge.invariants import acts, graph, numbers, readings, strengths, twins, words
from diag.knowledge.known import UNKNOWN_CODES
from diag.knowledge.load import load_in_part
from diag.knowledge.types import GRADES, Knowledge
from diag.knowledge.walk import SECTIONS, links, section
from diag.knowledge.walk import numbers as all_numbers
from diag.text import Problem

CHECKS: tuple[Callable[[Knowledge], list[Problem]], ...] = (
    numbers.bounds,
    numbers.ranges,
    numbers.judgements,
    numbers.references,
    numbers.unknown_references,
    numbers.unused_references,
    numbers.capped_factors,
    numbers.coexistence_above_nought,
    strengths.strengths,
    strengths.false_alarms,
    strengths.gates,
    graph.effect_cycles,
    graph.access_cycles,
    graph.causes_lead_somewhere,
    graph.effects_come_from_causes,
    graph.damage_is_reached,
    graph.findings_have_parents,
    acts.outcomes,
    acts.extra_outcomes,
    acts.sizes,
    acts.access_can_hold,
    acts.conditions_can_hold,
    acts.findings_in_reach,
    acts.locks_bar_something,
    words.named_ids,
    words.questions,
    words.cautions,
    words.former_ids,
    words.reserved_states,
    words.repairs_mend_faults,
    readings.reading_values,
    readings.reading_figures,
    readings.one_sided_readings,
    readings.reading_names,
    readings.fault_codes,
    twins.twin_names,
    twins.twin_answers,
    twins.twin_sizes,
    twins.twins_give_nothing_away,
    twins.twins_alike,
    twins.twins_say_one_thing,
    twins.causes_have_twins,
)


def validate(knowledge: Knowledge) -> list[Problem]:
    """What every check finds, sorted by place."""
    return sorted(problem for check in CHECKS for problem in check(knowledge))


def validate_folder(folder: Path, *overlays: Path) -> tuple[Knowledge, list[Problem]]:
    """The base in a folder, overlays over it, as far as it could be read, with all problems of reading and meaning.

    Where entries could not be read the checks of meaning are left out: they would blame others for them.
    """
    knowledge, problems = load_in_part(folder, *overlays)
    if all(problem.code in UNKNOWN_CODES for problem in problems):
        problems = sorted([*problems, *validate(knowledge)])
    return knowledge, problems


def counts(knowledge: Knowledge) -> dict[str, int]:
    """How many entries of each section there are, how many links, and how many numbers of each grade."""
    graded: list[str] = [number.grade for number, _ in all_numbers(knowledge)]
    return {
        **{name: len(section(knowledge, name)) for name in SECTIONS},
        "links": sum(1 for _ in links(knowledge)),
        "numbers": len(graded),
        **{grade: graded.count(grade) for grade in GRADES},
    }
