"""Random access graphs, and the cheapest way over their states by searching them all."""

from __future__ import annotations

import heapq
import random
from collections.abc import Iterable

from oracle.knowledge import HERE, base, number

from diag.knowledge.types import AccessStep, Knowledge


def step(name: str, do: float, undo: float, needs: Iterable[str] = (), conflicts: Iterable[str] = (), **more):
    told = {"minutes": number(do), "undo_minutes": number(undo), "needs": tuple(needs), "conflicts": tuple(conflicts)}
    return AccessStep(id=name, name=name, chapter="test", mark=HERE, **told, **more)


def with_steps(*steps: AccessStep, **sections) -> Knowledge:
    from dataclasses import replace

    return replace(base([], []), access={s.id: s for s in steps}, **sections)


def random_access(rng: random.Random) -> Knowledge:
    """Two to six steps, some passing (nothing to undo), some waiting, needs and conflicts as a base may have them."""
    steps: list[AccessStep] = []
    for i in range(rng.randint(2, 6)):
        needs = [s.id for s in steps if rng.random() < 0.3]
        conflicts = [s.id for s in steps if s.id not in needs and rng.random() < 0.25]
        undo = 0.0 if rng.random() < 0.4 else float(rng.randint(1, 9))
        waiting = number(float(rng.randint(1, 50))) if rng.random() < 0.3 else None
        steps.append(step(f"s{i}", float(rng.randint(0, 9)), undo, needs, conflicts, waiting=waiting))
    return with_steps(*steps)


def chain_of(access, name: str) -> set[str]:
    found = {name}
    for needed in access[name].needs:
        found |= chain_of(access, needed)
    return found


def at_odds(access, one: str, other: str) -> bool:
    """Some step of one chain and some step of the other name each other as a conflict."""
    return any(
        b in access[a].conflicts or a in access[b].conflicts
        for a in chain_of(access, one)
        for b in chain_of(access, other)
    )


def cheapest_way(knowledge: Knowledge, wanted: Iterable[str], start: frozenset[str]) -> float | None:
    """Minutes of work and of waiting to a state that has all of ``wanted``, by Dijkstra over sets of steps."""
    access = knowledge.access
    wanted = set(wanted)
    queue: list[tuple[float, int, frozenset[str]]] = [(0.0, 0, start)]
    done: set[frozenset[str]] = set()
    count = 0
    while queue:
        cost, _, held = heapq.heappop(queue)
        if held in done:
            continue
        done.add(held)
        if wanted <= held:
            return cost
        for name, entry in access.items():
            if name not in held and set(entry.needs) <= held and not at_odds(access, name, name):
                over = {h for h in held if at_odds(access, h, name)}
                if any(access[h].undo_minutes.value > 0 for h in over) or set(entry.needs) & over:
                    continue
                price = entry.minutes.value + (entry.waiting.value if entry.waiting else 0.0)
                count += 1
                heapq.heappush(queue, (cost + price, count, held - over | {name}))
            if name in held and not any(name in access[h].needs for h in held):  # what passes ends at no cost
                count += 1
                heapq.heappush(queue, (cost + entry.undo_minutes.value, count, held - {name}))
    return None
