"""What must hold for the twin cases: they name what is there, are small, give nothing away, and look alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain

from diag.knowledge.known import TWO_STATES
from diag.knowledge.types import Knowledge, Told
from diag.knowledge.walk import links
from diag.text import Mark, Problem, did_you_mean

MOST_ANSWERS = 5
SHARED_ANSWERS = 2


def twin_names(knowledge: Knowledge) -> list[Problem]:
    """The causes that a pair of twin cases names are there, and another one comes first in its second case."""
    problems = []
    for twin in knowledge.twins.values():
        named = {"": (twin.id, twin.mark), **{name: (getattr(twin, name), mark) for name, mark in twin.marks.items()}}
        for name, (cause, mark) in named.items():
            if cause not in knowledge.causes:
                problems.append(_unknown(mark, f"there is no cause {cause!r}.", cause, knowledge.causes))
            elif name and cause == twin.id:
                message = f"{twin.id}: {name!r} is the cause itself."
                problems.append(Problem(mark, "twin-of-itself", message, "Name the other cause."))
    return problems


def twin_answers(knowledge: Knowledge) -> list[Problem]:
    """The findings, history facts and fittings that the cases tell are there, and have these states."""
    states = _states(knowledge)
    problems = []
    for told in chain.from_iterable((*twin.first, *twin.not_first) for twin in knowledge.twins.values()):
        if told.id not in states:
            message = f"there is no finding, history fact or fitting {told.id!r}."
            problems.append(_unknown(told.mark, message, told.id, states))
        elif told.state not in states[told.id]:
            hint = did_you_mean(told.state, states[told.id]) or f"The states are {', '.join(states[told.id])}."
            message = f"{told.id} has no state {told.state!r}."
            problems.append(Problem(told.state_mark, "unknown-state", message, hint))
    return problems


def twin_sizes(knowledge: Knowledge) -> list[Problem]:
    """A twin case tells at most five answers: with enough of them anything comes first."""
    hint = "Keep what a mechanic would be told at the door."
    return [
        Problem(told[MOST_ANSWERS].mark, "twin-too-long", f"{twin.id}: the case tells {len(told)} answers.", hint)
        for twin in knowledge.twins.values()
        for told in (twin.first, twin.not_first)
        if len(told) > MOST_ANSWERS
    ]


def twins_give_nothing_away(knowledge: Knowledge) -> list[Problem]:
    """No answer of the first case is about what its cause alone brings about: that would be asking the answer."""
    behind = _causes_behind(knowledge)
    hint = "Take it out, or tell a sign that other causes give too."
    return [
        Problem(told.mark, "twin-gives-away", f"{told.id} belongs to {twin.id} alone.", hint)
        for twin in knowledge.twins.values()
        for told in twin.first
        if behind.get(told.id) == {twin.id}
    ]


def twins_alike(knowledge: Knowledge) -> list[Problem]:
    """The two cases of a cause share two answers or more."""
    hint = "Let the second case begin as the first one does."
    return [
        Problem(twin.mark, "twins-not-alike", f"the two cases of {twin.id} share {shared} answers.", hint)
        for twin in knowledge.twins.values()
        if twin.first and (shared := len(_answers(twin.first) & _answers(twin.not_first))) < SHARED_ANSWERS
    ]


def twins_say_one_thing(knowledge: Knowledge) -> list[Problem]:
    """A cause that is outweighed by nature has no case in which it comes first."""
    hint = "Take out 'first', or 'twin_of'."
    return [
        Problem(twin.marks["twin_of"], "twin-and-first", f"{twin.id} comes first, and has a twin before it.", hint)
        for twin in knowledge.twins.values()
        if twin.first and twin.twin_of
    ]


def causes_have_twins(knowledge: Knowledge) -> list[Problem]:
    """Where a base keeps twin cases every cause has its two."""
    hint = "Write them in twins.yaml: one in which it comes first, and one alike in which another does."
    return [
        Problem(cause.mark, "cause-without-twins", f"{cause.id} has no twin cases.", hint, "warning")
        for cause in knowledge.causes.values()
        if knowledge.twins and cause.id not in knowledge.twins
    ]


def _answers(told: tuple[Told, ...]) -> set[tuple[str, str]]:
    return {(answer.id, answer.state) for answer in told}


def _unknown(mark: Mark, message: str, word: str, known: Mapping[str, object]) -> Problem:
    return Problem(mark, "unknown-id", message, did_you_mean(word, known) or "Name one that is there.")


def _states(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    return {
        **{finding.id: finding.states for finding in knowledge.findings.values()},
        **{fact.id: fact.states for fact in knowledge.history.values()},
        **dict.fromkeys(knowledge.fittings, TWO_STATES),
    }


def _causes_behind(knowledge: Knowledge) -> dict[str, set[str]]:
    """The causes that bring each finding about, over whatever effects between, or whose past a fact tells."""
    parents: dict[str, list[str]] = {}
    for parent, link in links(knowledge):
        parents.setdefault(link.child, []).append(parent.id)
    behind = {finding: set(_upwards(finding, parents)) & set(knowledge.causes) for finding in knowledge.findings}
    return behind | {fact.id: set(fact.factors) for fact in knowledge.history.values()}


def _upwards(id: str, parents: Mapping[str, list[str]]) -> Iterator[str]:
    seen, waiting = {id}, [id]
    while waiting:
        for parent in parents.get(waiting.pop(), ()):
            if parent not in seen:
                seen.add(parent)
                waiting.append(parent)
                yield parent
