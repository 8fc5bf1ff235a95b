"""How the vehicle gets into the state a test needs, from the state it is in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diag.knowledge.types import Knowledge


@dataclass(frozen=True, slots=True)
class Way:
    """Steps still to do, in order; minutes to do them and to undo them; minutes that only pass; what bars it."""

    steps: tuple[str, ...]
    minutes: float
    undo_minutes: float
    waiting: float
    barred_by: tuple[tuple[str, str], ...] = ()


def way_to(knowledge: Knowledge, wanted: Iterable[str], state: Mapping[str, bool]) -> Way:
    """The steps that ``wanted`` needs and ``state`` does not have yet, what comes first standing first.

    A step that is in conflict with a state that holds bars the way: (step, state it is in conflict with). A state
    that takes no work to undo (hot, running) ends by itself and bars nothing.
    """
    steps: list[str] = []
    for step in wanted:
        _add(knowledge, step, state, steps)
    entries = [knowledge.access[step] for step in steps]
    holding = [step for step, reached in state.items() if reached and knowledge.access[step].undo_minutes.value > 0]
    return Way(
        steps=tuple(steps),
        minutes=sum(entry.minutes.value for entry in entries),
        undo_minutes=sum(entry.undo_minutes.value for entry in entries),
        waiting=sum(entry.waiting.value for entry in entries if entry.waiting),
        barred_by=tuple((entry.id, held) for entry in entries for held in holding if held in entry.conflicts),
    )


def _add(knowledge: Knowledge, step: str, state: Mapping[str, bool], steps: list[str]) -> None:
    if state.get(step) or step in steps:
        return
    for needed in knowledge.access[step].needs:
        _add(knowledge, needed, state, steps)
    steps.append(step)
