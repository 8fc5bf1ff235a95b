"""Knowledge bases and observations of a few entries, written in a line or two."""

from collections.abc import Iterable, Mapping, Sequence

from diag.knowledge.types import (
    Cause,
    Effect,
    Finding,
    Fitting,
    HistoryFact,
    Knowledge,
    Link,
    ModelNumber,
    Number,
)
from diag.network.observations import Look, Observations
from diag.text import Mark

HERE = Mark("test.yaml", 1, 1)
MODEL = {
    "share_without_fault": 3.0,
    "coexistence": 0.12,
    "complaint_false_alarm": 0.1,
    "second_look_copies": 0.5,
    "failure_when_fine": 0.5,
    "relief_by_other_repair": 0.1,
    "relief_by_right_repair": 0.5,
    "success_with_trouble": 0.75,
    "strength_of_unlisted": 0.9,
    "knowledge_worth": 200.0,
}
Strengths = Mapping[str, Mapping[str, float]]


def number(value: float) -> Number:
    return Number(value, "judgement", HERE)


def numbers(values: Mapping[str, float]) -> dict[str, Number]:
    return {key: number(value) for key, value in values.items()}


def links(children: Mapping[str, "float | Strengths"]) -> tuple[Link, ...]:
    """{child: strength} for two states; {child: {parent state: {child state: strength}}} for more."""
    told = {c: {"yes": {"yes": s}} if isinstance(s, float) else s for c, s in children.items()}
    return tuple(Link(c, {p: numbers(states) for p, states in s.items()}, HERE) for c, s in told.items())


def cause(
    name: str,
    weight: float,
    leads_to: Mapping[str, "float | Strengths"] | None = None,
    shows: Mapping[str, "float | Strengths"] | None = None,
    fitted: Sequence[str] = (),
    not_fitted: Sequence[str] = (),
) -> Cause:
    return Cause(
        id=name,
        name=name,
        chapter="test",
        mark=HERE,
        weight=number(weight),
        leads_to=links(leads_to or {}),
        shows=links(shows or {}),
        family="test",
        fitted=tuple(fitted),
        not_fitted=tuple(not_fitted),
    )


def effect(
    name: str,
    leak: Mapping[str, float],
    leads_to: Mapping[str, "float | Strengths"] | None = None,
    shows: Mapping[str, "float | Strengths"] | None = None,
    states: Sequence[str] = ("no", "yes"),
    gate: str = "or",
    k: int = 0,
    inhibited_by: Mapping[str, float] | None = None,
    residual: float | None = None,
    kind: str = "mechanism",
) -> Effect:
    return Effect(
        id=name,
        name=name,
        chapter="test",
        mark=HERE,
        kind=kind,
        states=tuple(states),
        gate=gate,
        k=k,
        leak=numbers(leak),
        leads_to=links(leads_to or {}),
        shows=links(shows or {}),
        inhibited_by=numbers(inhibited_by or {}),
        residual=None if residual is None else number(residual),
    )


def finding(name: str, false_alarm: Mapping[str, float], states: Sequence[str] = ("no", "yes")) -> Finding:
    return Finding(
        id=name,
        name=name,
        chapter="test",
        mark=HERE,
        states=tuple(states),
        question=f"{name}?",
        false_alarm=numbers(false_alarm),
        ask=True,
        complaint=True,
    )


def fact(name: str, group: str, base: float, factors: Mapping[str, float]) -> HistoryFact:
    return HistoryFact(
        id=name,
        name=name,
        chapter="test",
        mark=HERE,
        question=f"{name}?",
        group=group,
        base=number(base),
        factors=numbers(factors),
    )


def fitting(name: str, share: float) -> Fitting:
    return Fitting(id=name, name=name, chapter="test", mark=HERE, question=f"{name}?", share=number(share))


def base(
    causes: Iterable[Cause],
    findings: Iterable[Finding],
    effects: Iterable[Effect] = (),
    history: Iterable[HistoryFact] = (),
    fittings: Iterable[Fitting] = (),
    model: Mapping[str, float] | None = None,
) -> Knowledge:
    sections = {"causes": causes, "findings": findings, "effects": effects, "history": history}
    by_id = {s: {e.id: e for e in entries} for s, entries in {**sections, "fittings": fittings}.items()}
    values = {**MODEL, **(model or {})}
    named = {n: ModelNumber(id=n, name=n, chapter="test", mark=HERE, value=number(v)) for n, v in values.items()}
    nothing = {"tests": {}, "access": {}, "hazards": {}, "references": {}}
    return Knowledge(version="test", model=named, **by_id, **nothing)


def look(
    name: str, likelihood: Sequence[float] | None, complaint: bool = False, entry: int = 1, stage: int = 1
) -> Look:
    return Look(name, None if likelihood is None else tuple(likelihood), complaint, entry, 1.0, stage)


def seen(
    *looks: Look,
    history: Sequence[Look] = (),
    fitted: Mapping[str, bool] | None = None,
    gone: Iterable[str] = (),
) -> Observations:
    return Observations(tuple(looks), tuple(history), fitted or {}, frozenset(gone), None, {})
