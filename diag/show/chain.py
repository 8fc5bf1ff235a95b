"""A chain of cause and effect in plain words."""

from __future__ import annotations

from collections.abc import Mapping

from diag.explain.chain import Chain, Step
from diag.session import Session
from diag.show.names import cause_name


def chain_words(session: Session, chain: Chain) -> str:
    """One thing after the other: pump worn, so flow weak, so how hot it was: boiled."""
    told = cause_name(session.knowledge, chain.cause)
    if chain.beside:
        told += f", and beside it {' and '.join(cause_name(session.knowledge, fault) for fault in chain.beside)}"
    before, above = chain.cause, {cause: frozenset[str]() for cause in (chain.cause, *chain.beside)}
    for step in chain.steps:
        nearest = _nearest(step, above)
        told += _joined(session, step, nearest, before)
        above[step.effect] = frozenset(step.because).union(*(above[id] for id in step.because))
        before = step.effect
    if chain.unexplained:
        names = ", ".join(session.knowledge.findings[f].name for f in chain.unexplained)
        told += f"; nothing in it explains: {names}"
    return told


def effect_words(session: Session, effect: str, state: str) -> str:
    """The effect, with its degree where it has degrees."""
    entry = session.knowledge.effects[effect]
    return entry.name if len(entry.states) == 2 else f"{entry.name}: {state.replace('_', ' ')}"


def _nearest(step: Step, above: Mapping[str, frozenset[str]]) -> list[str]:
    """What brings it about, without what does so by way of another of them."""
    return [id for id in step.because if not any(id in above[other] for other in step.because)]


def _joined(session: Session, step: Step, nearest: list[str], before: str) -> str:
    words = effect_words(session, step.effect, step.state)
    if nearest == [before]:
        return f", so {words}"
    if not nearest:
        return f"; by itself: {words}"
    return f"; from {' and '.join(_name(session, id) for id in nearest)}: {words}"


def _name(session: Session, id: str) -> str:
    effect = session.knowledge.effects.get(id)
    return effect.name if effect else cause_name(session.knowledge, id)
