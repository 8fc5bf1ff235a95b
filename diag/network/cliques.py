"""How large the tables of a knowledge base become, with more and more findings recorded and with all tests asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass

import numpy as np

from diag.knowledge.types import Entry, Knowledge
from diag.network.case_network import CaseNetwork, compile_case
from diag.network.inference import Inference
from diag.network.observations import Observations
from diag.network.plan import CELL_LIMIT, CliqueTooLarge
from diag.network.sampling import sample
from diag.text import Problem

RECORDED = (0, 10, 30, 60)
VEHICLES = 2  # drawn; the larger table counts
SEED = 1
NOTHING = Observations((), (), {}, frozenset(), None, {})


@dataclass(frozen=True)
class CliqueSizes:
    """Cells of the largest clique with so many ``findings`` recorded: for the causes alone, and with all tests asked.

    ``answers``: as in a vehicle drawn from the model (drawn), or every one out of the ordinary (odd), which no machine
    shows and which is the hardest.
    """

    findings: int
    answers: str
    causes: int
    tests: int


def clique_sizes(knowledge: Knowledge, limit: int = CELL_LIMIT) -> tuple[list[CliqueSizes], list[Problem]]:
    """The sizes, the same on every run, and what is above the limit: drawn answers an error, odd ones a warning.

    Above the limit a size is that of the first clique refused.
    """
    random = np.random.default_rng(SEED)
    case = compile_case(knowledge, NOTHING)
    vehicles = [_Vehicle(case, random) for _ in range(VEHICLES)]
    found: list[CliqueSizes] = []
    problems: list[Problem] = []
    for count in sorted({min(count, len(knowledge.findings)) for count in RECORDED}):
        asked = [vehicle.sizes(count, "drawn", limit) for vehicle in vehicles]
        found.append(_largest([sizes for sizes, _ in asked]))
        problems += [_problem(knowledge, found[-1], refused) for _, refused in asked if refused]
    odd, refused = vehicles[0].sizes(found[-1].findings, "odd", limit)
    problems += [_problem(knowledge, odd, refused)] if refused else []
    return [*found, odd], sorted(set(problems))


class _Vehicle:
    """Answers to every finding, and an order in which they are recorded."""

    def __init__(self, case: CaseNetwork, random: np.random.Generator) -> None:
        self.case = case
        findings = case.knowledge.findings
        states = sample(case.full_network(), random)
        self.order: list[str] = random.permutation(list(findings)).tolist()
        self.answers = {
            "drawn": {finding: states[finding] for finding in findings},
            "odd": {finding: int(random.integers(1, len(entry.states))) for finding, entry in findings.items()},
        }

    def sizes(self, count: int, answers: str, limit: int) -> tuple[CliqueSizes, CliqueTooLarge | None]:
        """The sizes with the first ``count`` findings recorded, and what was refused."""
        told = {f: self.answers[answers][f] for f in self.order[:count]}
        evidence = {f: np.eye(len(self.case.knowledge.findings[f].states))[state] for f, state in told.items()}
        inference = Inference(self.case.faults, evidence, limit)
        causes, first = _cells(inference, self.case.causes, ())
        tests, second = _cells(inference, self.case.causes, list(_open(self.case.knowledge, told.keys())))
        return CliqueSizes(count, answers, causes, tests), first or second


def _open(knowledge: Knowledge, recorded: Set[str]) -> Iterator[tuple[str, ...]]:
    """Every question and test of the base, what is recorded left out."""
    asked = [(finding.id,) for finding in knowledge.findings.values() if finding.ask]
    for revealed in (*asked, *(test.reveals for test in knowledge.tests.values())):
        left = tuple(finding for finding in revealed if finding not in recorded)
        if left:
            yield left


def _cells(
    inference: Inference, targets: Sequence[str], tests: Sequence[Sequence[str]]
) -> tuple[int, CliqueTooLarge | None]:
    try:
        return inference.largest_clique(targets, tests), None
    except CliqueTooLarge as refused:
        return refused.cells, refused


def _largest(sizes: Sequence[CliqueSizes]) -> CliqueSizes:
    first = sizes[0]
    causes, tests = max(size.causes for size in sizes), max(size.tests for size in sizes)
    return CliqueSizes(first.findings, first.answers, causes, tests)


def _problem(knowledge: Knowledge, sizes: CliqueSizes, refused: CliqueTooLarge) -> Problem:
    """At the first entry that the clique names."""
    entries: dict[str, Entry] = {**knowledge.causes, **knowledge.effects, **knowledge.findings}
    named = [name.split("~")[0] for name in refused.names]
    mark = next(entries[name].mark for name in (*named, *entries) if name in entries)
    odd = ", all out of the ordinary" if sizes.answers == "odd" else ""
    message = f"with {sizes.findings} findings recorded{odd}, {refused}."
    hint = "Let fewer causes and effects share an effect or a finding, or put an effect between."
    return Problem(mark, "clique-too-large", message, hint, "warning" if odd else "error")
