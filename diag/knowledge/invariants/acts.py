"""What must hold for tests, repairs and access steps: steps that can be done, outcomes that are told."""

from __future__ import annotations

from collections.abc import Iterator

from diag.knowledge.steps import clashes
from diag.knowledge.types import Knowledge, TestEntry
from diag.knowledge.walk import repairs
from diag.text import Mark, Problem

MOST_FINDINGS = 4
SKILLS = (1, 2, 3)


def outcomes(knowledge: Knowledge) -> list[Problem]:
    """A test tells what each answer of each finding looks like."""
    hint = "Write under 'outcomes' what the person sees, with the limit."
    return [
        Problem(test.mark, "test-without-outcome", f"{test.id} does not say what {missing} look like.", hint)
        for test in knowledge.tests.values()
        if (missing := ", ".join(_untold(test, knowledge)))
    ]


def extra_outcomes(knowledge: Knowledge) -> list[Problem]:
    """A test tells no outcome of a finding that it does not reveal."""
    hint = "Add the finding to 'reveals', or take the outcome out."
    return [
        Problem(test.mark, "outcome-not-revealed", f"{test.id} does not reveal {finding}.", hint)
        for test in knowledge.tests.values()
        for finding in test.outcomes
        if finding not in test.reveals
    ]


def sizes(knowledge: Knowledge) -> list[Problem]:
    """A test has steps, reveals one to four findings and asks for a skill from 1 to 3."""
    return [problem for test in knowledge.tests.values() for problem in _size(test)]


def access_can_hold(knowledge: Knowledge) -> list[Problem]:
    """The access steps that a test, a repair or a step needs can hold at the same time."""
    hint = "Take one of the two out, or make two acts of it."
    return [
        Problem(mark, "access-conflict", f"{what} needs {one} and {other}, which cannot both hold.", hint)
        for what, mark, own, needed in _acts(knowledge)
        for one, other in _new_conflicts(own, needed, knowledge)
    ]


def conditions_can_hold(knowledge: Knowledge) -> list[Problem]:
    """A test does not reveal a finding whose condition its access rules out."""
    hint = "Change the access of the test or the condition of the finding."
    return [
        Problem(
            test.mark,
            "condition-ruled-out",
            f"{test.id}: {finding} means something with {one} and {other} only, which cannot both hold.",
            hint,
        )
        for test in knowledge.tests.values()
        if not clashes(knowledge.access, test.access)
        for finding in test.reveals
        for one, other in clashes(knowledge.access, (*test.access, *knowledge.findings[finding].condition))
    ]


def findings_in_reach(knowledge: Knowledge) -> list[Problem]:
    """Every finding is asked for or revealed by some test."""
    revealed = {finding for test in knowledge.tests.values() for finding in test.reveals}
    hint = "Write 'ask: yes', or a test that reveals it."
    return [
        Problem(finding.mark, "finding-without-test", f"nobody ever looks for {finding.id}.", hint)
        for finding in knowledge.findings.values()
        if not finding.ask and finding.id not in revealed
    ]


def locks_bar_something(knowledge: Knowledge) -> list[Problem]:
    """A lock says what it bars and when."""
    hint = "Name access steps or tests under 'bars' and 'tests', and say when: 'told', 'likely' or 'during'."
    return [
        Problem(lock.mark, "lock-without-sense", f"{lock.id} bars nothing, or never.", hint)
        for lock in knowledge.locks.values()
        if not (lock.bars or lock.tests) or not (lock.told or lock.likely or lock.during)
    ]


def _untold(test: TestEntry, knowledge: Knowledge) -> Iterator[str]:
    for finding in test.reveals:
        told = test.outcomes.get(finding, {})
        yield from (f"{finding}={state}" for state in knowledge.findings[finding].states if not told.get(state))


def _size(test: TestEntry) -> Iterator[Problem]:
    if not test.how:
        yield Problem(test.mark, "test-without-steps", f"{test.id} does not say how.", "Write one step a line.")
    if not 1 <= len(test.reveals) <= MOST_FINDINGS:
        message = f"{test.id} reveals {len(test.reveals)} findings; 1 to {MOST_FINDINGS} can be weighed together."
        yield Problem(test.mark, "wrong-size", message, "Make two tests of it.")
    if test.skill not in SKILLS:
        hint = "1 anyone, 2 some practice, 3 trained."
        yield Problem(test.mark, "out-of-range", f"{test.id}: there is no skill {test.skill}.", hint)


def _acts(knowledge: Knowledge) -> Iterator[tuple[str, Mark, tuple[str, ...], tuple[str, ...]]]:
    """What asks for access, where it stands, the step that it is itself, and the steps that it names."""
    for test in knowledge.tests.values():
        yield test.id, test.mark, (), test.access
    for entry, repair in repairs(knowledge):
        yield f"the repair of {entry.id}", repair.mark, (), repair.access
    for step in knowledge.access.values():
        yield step.id, step.mark, (step.id,), step.needs


def _new_conflicts(own: tuple[str, ...], needed: tuple[str, ...], knowledge: Knowledge) -> list[tuple[str, str]]:
    """The conflicts of all steps together that no single one of the ``needed`` has by itself."""
    inherited = {pair for step in needed for pair in clashes(knowledge.access, (step,))}
    return [pair for pair in clashes(knowledge.access, (*own, *needed)) if pair not in inherited]
