"""Random cases on the shipped knowledge base, each from a seed."""

from dataclasses import replace
from functools import cache

import numpy as np
from oracle.knowledge import look, seen

from diag.knowledge.load import load, shipped_folder
from diag.knowledge.types import Finding, HistoryFact, Knowledge
from diag.network.case_network import CaseNetwork, compile_case
from diag.network.observations import Look, Observations
from diag.network.sampling import sample


@cache
def shipped() -> Knowledge:
    knowledge, problems = load(shipped_folder())
    assert knowledge is not None, problems
    return knowledge


def some_causes(number: int, seed: int) -> Knowledge:
    """The shipped base with this many of its causes, all else the same."""
    kept = np.random.default_rng(seed).choice(list(shipped().causes), size=number, replace=False)
    return replace(shipped(), causes={name: c for name, c in shipped().causes.items() if name in kept})


def random_case(knowledge: Knowledge, seed: int, findings: int, drawn: bool = True) -> CaseNetwork:
    """A case with this many findings looked at: as they are in one vehicle drawn from the model, or at random."""
    numbers = np.random.default_rng(seed)
    fitted = {name: bool(numbers.random() < 0.5) for name in knowledge.fittings if numbers.random() < 0.5}
    fitted = {name: has for name, has in fitted.items() if not knowledge.fittings[name].refuses}
    states = _states(knowledge, seen(fitted=fitted), numbers, drawn)
    return compile_case(knowledge, _told(knowledge, states, findings, fitted, numbers))


def _states(knowledge: Knowledge, nothing: Observations, numbers: np.random.Generator, drawn: bool) -> dict[str, int]:
    entries = {**knowledge.findings, **knowledge.history}
    if drawn:
        drawn_states = sample(compile_case(knowledge, nothing).full_network(), numbers)
        return {name: drawn_states[name] for name in entries}
    return {name: int(numbers.integers(len(entry.states))) for name, entry in entries.items()}


def _told(
    knowledge: Knowledge,
    states: dict[str, int],
    findings: int,
    fitted: dict[str, bool],
    numbers: np.random.Generator,
) -> Observations:
    order = numbers.permutation(list(knowledge.findings)).tolist()
    # What brings a vehicle in is out of the ordinary, if anything about it is.
    order.sort(key=lambda f: not (knowledge.findings[f].complaint and states[f] > 0))
    looks = [_look(knowledge.findings[f], states[f], numbers, f == order[0]) for f in order[:findings]]
    if findings > 10:
        looks.append(_look(knowledge.findings[order[1]], states[order[1]], numbers, False))
    facts = numbers.choice(list(knowledge.history), size=numbers.integers(0, 5), replace=False).tolist()
    history = [_look(knowledge.history[f], states[f], numbers, False) for f in facts]
    return seen(*looks, history=history, fitted=fitted)


def _look(entry: Finding | HistoryFact, state: int, numbers: np.random.Generator, complaint: bool) -> Look:
    """Three answers in four are sure."""
    likelihood = np.eye(len(entry.states))[state]
    if not complaint and numbers.random() < 0.25:
        likelihood = 0.7 * likelihood + 0.3 * numbers.random(len(entry.states))
    return look(entry.id, likelihood.tolist(), complaint)
