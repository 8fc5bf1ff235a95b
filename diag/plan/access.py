"""How the vehicle gets into the state a test needs, from the state it is in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diag.knowledge.steps import clashes, excluded, given_by, lasting, with_needs
from diag.knowledge.types import Knowledge


@dataclass(frozen=True, slots=True)
class Way:
    """The cheapest way to a state.

    steps: still to do, in order, after ``undone`` was put back; minutes: of doing and of that putting back;
    undo_minutes: of putting back what the steps take off; waiting: minutes that only pass; barred_by: pairs of
    steps that both have to hold and cannot, then there is no way.
    """

    steps: tuple[str, ...]
    minutes: float
    undo_minutes: float
    waiting: float
    barred_by: tuple[tuple[str, str], ...] = ()
    undone: tuple[str, ...] = ()


HERE = Way((), 0.0, 0.0, 0.0)


def way_to(knowledge: Knowledge, wanted: Iterable[str], state: Mapping[str, bool]) -> Way:
    """What ``wanted`` needs and ``state`` does not have yet, each step once, and what must be put back for it.

    Cheapest, because nothing in it can be left out: every step that is needed and neither holds nor is given by
    another needed one has to be done, everything lasting that excludes one of them has to be undone first. Passing
    states (hot, running) end by themselves.
    """
    access = knowledge.access
    needed = with_needs(access, wanted)
    barred = tuple(clashes(access, needed))
    held = _holding(knowledge, state)
    given = given_by(access, needed)
    steps = tuple(step for step in needed if step not in held and step not in given)
    undone = tuple(h for h in held if lasting(access, h) and h not in needed and excluded(access, h, needed))
    entries = [access[step] for step in steps]
    return Way(
        steps=steps,
        minutes=sum(e.minutes.value for e in entries) + sum(access[h].undo_minutes.value for h in undone),
        undo_minutes=sum(entry.undo_minutes.value for entry in entries),
        waiting=sum(entry.waiting.value for entry in entries if entry.waiting),
        barred_by=barred,
        undone=tuple(reversed(undone)),
    )


def _holding(knowledge: Knowledge, state: Mapping[str, bool]) -> tuple[str, ...]:
    """What holds, what comes first standing first: the steps reached, what those needed, what they give."""
    reached = with_needs(knowledge.access, (step for step, on in state.items() if on))
    return (*reached, *(given_by(knowledge.access, reached) - set(reached)))
