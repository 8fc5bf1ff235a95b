"""How access steps hang together: what comes first, what rules what out, what holds after one is reached or undone.

A step whose undoing takes no minutes is *passing* (hot, running): it ends by itself as soon as something that
excludes it is brought about. The others last until somebody undoes them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diag.knowledge.types import AccessStep

Access = Mapping[str, AccessStep]


def lasting(access: Access, step: str) -> bool:
    """Whether somebody has to undo it."""
    return access[step].undo_minutes.value > 0


def with_needs(access: Access, steps: Iterable[str]) -> tuple[str, ...]:
    """The steps and all that they need, what comes first standing first."""
    found: dict[str, None] = {}
    open_steps: set[str] = set()

    def add(step: str) -> None:
        if step not in found and step not in open_steps:
            open_steps.add(step)
            for needed in access[step].needs:
                add(needed)
            found[step] = None

    for step in steps:
        add(step)
    return tuple(found)


def given_by(access: Access, steps: Iterable[str]) -> frozenset[str]:
    """What holds besides, because these do: who stood overnight is cold."""
    found: set[str] = set()
    ahead = list(steps)
    while ahead:
        new = set(access[ahead.pop()].gives) - found
        found |= new
        ahead += new
    return frozenset(found)


def exclude(access: Access, one: str, other: str) -> bool:
    """Whether the two cannot hold at the same time; a state that the other gives never does."""
    if other in access[one].gives or one in access[other].gives:
        return False
    return other in access[one].conflicts or one in access[other].conflicts


def clashes(access: Access, steps: Iterable[str]) -> list[tuple[str, str]]:
    """The pairs of steps that rule each other out, once what each step needs is added."""
    held = sorted(with_needs(access, steps))
    return [(one, other) for i, one in enumerate(held) for other in held[i + 1 :] if exclude(access, one, other)]


def excluded(access: Access, step: str, wanted: Iterable[str]) -> str | None:
    """The first of ``wanted`` that cannot hold beside ``step`` and what ``step`` needs, or None."""
    chain = with_needs(access, (step,))
    return next((want for want in wanted if any(exclude(access, one, want) for one in chain)), None)


def after(access: Access, state: Mapping[str, bool], step: str, reached: bool) -> dict[str, bool]:
    """The state once ``step`` was reached or undone: the last word on each step.

    Reached: what it needs and gives holds too, and what excludes it has ended. Undone: what lasts and needs it is
    undone too (a system that is filled again has its thermostat in).
    """
    if not reached:
        over = [h for h, on in state.items() if on and lasting(access, step) and step in with_needs(access, (h,))]
        return {**state, **dict.fromkeys(over, False), step: False}
    now = with_needs(access, (step,))
    now = (*now, *given_by(access, now))
    over = [held for held, on in state.items() if on and held not in now and excluded(access, held, now)]
    return {**state, **dict.fromkeys(over, False), **dict.fromkeys(now, True)}
