"""The numbers that can bear on one case, each with its place in the knowledge base."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, cast

from diag.knowledge.types import Cause, Effect, Knowledge, Link, Number
from diag.network.diagnosis import Diagnosis

Path = tuple[str | int, ...]

_NO_NUMBERS_OF_THE_CASE = ("tests", "access", "hazards", "references", "twins", "provenance", "locks")


def part_that_bears(diagnosis: Diagnosis) -> Knowledge:
    """The base without what cannot bear on this case: every probability of the case is the same with it.

    An effect that nothing recorded hangs on stays for the residual cause it stands for; its numbers go. After a repair
    no effect is left out, for damage is itself a thing that may keep the trouble going.
    """
    base, case = diagnosis.case.knowledge, diagnosis.case
    above = case.faults.ancestors(case.likelihood)
    bears = frozenset(node.partition("@")[0].partition("~")[0] for node in above)
    if len(case.stages) > 1:
        bears |= base.effects.keys()
    groups = {base.history[look.finding].group for look in case.observations.history}
    nothing: dict[str, Any] = {room: {} for room in _NO_NUMBERS_OF_THE_CASE}
    return replace(
        base,
        causes={id: _cause(cause, bears) for id, cause in base.causes.items()},
        effects={id: _effect(effect, bears) for id, effect in base.effects.items()},
        findings={id: replace(f, reading=None) for id, f in base.findings.items() if id in bears},
        history={id: fact for id, fact in base.history.items() if fact.group in groups},
        **nothing,
    )


def _cause(cause: Cause, bears: frozenset[str]) -> Cause:
    return replace(cause, leads_to=_kept(cause.leads_to, bears), shows=_kept(cause.shows, bears), repair=None)


def _effect(effect: Effect, bears: frozenset[str]) -> Effect:
    leads_to, shows = _kept(effect.leads_to, bears), _kept(effect.shows, bears)
    if effect.id in bears:
        return replace(effect, leads_to=leads_to, shows=shows, repair=None)
    return replace(effect, leads_to=leads_to, shows=shows, repair=None, leak={}, inhibited_by={}, gate="or", k=0)


def _kept(links: tuple[Link, ...], bears: frozenset[str]) -> tuple[Link, ...]:
    return tuple(link for link in links if link.child in bears)


def judgements(value: Any, path: Path = ()) -> Iterator[tuple[Path, Number]]:
    """Every judgement above nought with room to be another, and the names and keys on the way to it, in one order."""
    if isinstance(value, Number):
        told = value.low is not None and value.high is not None and value.low < value.high
        if told and value.grade == "judgement" and value.value > 0:
            yield path, value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from judgements(inner, (*path, key))
    elif isinstance(value, tuple):
        for place, inner in enumerate(value):
            yield from judgements(inner, (*path, place))
    elif is_dataclass(value):
        for field in fields(value):
            yield from judgements(getattr(value, field.name), (*path, field.name))


def part_at(value: Any, path: Path) -> Any:
    """What stands at the end of the names and keys."""
    for step in path:
        value = getattr(value, str(step)) if is_dataclass(value) else value[step]
    return value


def with_value(knowledge: Knowledge, path: Path, value: float) -> Knowledge:
    """The base with another value of one number."""
    return cast(Knowledge, _with_value(knowledge, path, value))


def _with_value(part: Any, path: Path, value: float) -> Any:
    if not path:
        return replace(part, value=value)
    step, rest = path[0], path[1:]
    if isinstance(part, Mapping):
        return {**part, step: _with_value(part[step], rest, value)}
    if isinstance(part, tuple):
        place = cast(int, step)
        return (*part[:place], _with_value(part[place], rest, value), *part[place + 1 :])
    return replace(part, **{str(step): _with_value(getattr(part, str(step)), rest, value)})
