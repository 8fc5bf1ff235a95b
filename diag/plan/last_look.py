"""Before a step or a repair: what it takes away, what of it is worth seeing first, and what only gets dearer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diag.knowledge.steps import after
from diag.knowledge.types import Cause, Effect, Knowledge
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.plan.access import way_to
from diag.plan.act import act
from diag.plan.cost import score
from diag.plan.repair_cost import RepairCosts, repair_costs
from diag.plan.settings import Settings


@dataclass(frozen=True)
class LastChance:
    """A question or a test that shows what is about to go: bits of that alone, what it takes, whether it pays."""

    id: str
    name: str
    findings: tuple[str, ...]
    gain_bits: float
    cost: float
    minutes: float
    pays: bool


@dataclass(frozen=True)
class Dearer:
    """A question or a test that takes ``more`` than now once the step is done."""

    id: str
    name: str
    more: float


@dataclass(frozen=True)
class LastLook:
    """first: in the order to do them; lost: every finding that goes unseen; keep: what to photograph and keep."""

    step: str
    lost: tuple[str, ...]
    first: tuple[LastChance, ...]
    not_worth: tuple[LastChance, ...]
    dearer: tuple[Dearer, ...]
    keep: tuple[str, ...]


def steps_before(knowledge: Knowledge) -> tuple[str, ...]:
    """Ids that a last look can be asked for: access steps, and causes and damage that have a repair."""
    faults: list[Cause | Effect] = [*knowledge.causes.values(), *knowledge.effects.values()]
    return (*knowledge.access, *(fault.id for fault in faults if fault.repair))


def last_look(diagnosis: Diagnosis, settings: Settings, step: str) -> LastLook:
    """Raises KeyError for an id that is not of ``steps_before``."""
    case = diagnosis.case
    wanted, own = _wanted(case.knowledge, step)
    reached = way_to(case.knowledge, wanted, case.observations.access).steps
    access = case.knowledge.access
    taken = dict.fromkeys([*own, *(f for s in reached for f in access[s].destroys)])
    lost = tuple(finding for finding in taken if finding not in case.recorded)
    chances = _chances(diagnosis, settings, lost)
    first = [chance for chance in chances if chance.pays]
    rest = tuple(chance for chance in chances if not chance.pays)
    dearer = _dearer(diagnosis, settings, reached, {chance.id for chance in chances})
    keep = tuple(text for s in reached for text in access[s].keep)
    return LastLook(step, lost, tuple(_in_order(case.knowledge, first)), rest, dearer, keep)


def _wanted(knowledge: Knowledge, step: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Access steps, and what the repair itself takes away."""
    if step in knowledge.access:
        return (step,), ()
    fault = knowledge.causes.get(step) or knowledge.effects[step]
    if fault.repair is None:
        raise KeyError(step)
    return fault.repair.access, fault.repair.destroys


def _chances(diagnosis: Diagnosis, settings: Settings, lost: Sequence[str]) -> list[LastChance]:
    """The acts that show what goes, the best for their cost first; one that shows no more than a better one is out."""
    shows = {id: tuple(f for f in told.findings if f in lost) for id, told in diagnosis.open_outcomes.items()}
    outcomes = diagnosis.outcomes({id: findings for id, findings in shows.items() if findings})
    case = diagnosis.case
    repairs = repair_costs(case.knowledge, diagnosis.states, settings, case.observations.access)
    found = [_chance(diagnosis, settings, repairs, id, told) for id, told in outcomes.items()]
    kept: list[LastChance] = []
    for chance in sorted(found, key=lambda one: (-score(one.gain_bits, one.cost, settings), one.id)):
        if not any(set(chance.findings) <= set(other.findings) for other in kept):
            kept.append(chance)
    return kept


def _chance(diagnosis: Diagnosis, settings: Settings, repairs: RepairCosts, id: str, told: Outcomes) -> LastChance:
    """It pays where its bits, or what it takes off the expected cost of repair, are worth what it takes."""
    of = act(diagnosis.case, id, settings, diagnosis.effects())
    worth = max(told.gain * settings.bit_worth, repairs.saved(diagnosis.posterior, told.joint))
    pays = told.gain >= settings.least_gain and worth >= of.cost
    return LastChance(id, of.name, told.findings, told.gain, of.cost, of.minutes, pays)


def _dearer(diagnosis: Diagnosis, settings: Settings, reached: Sequence[str], shown: set[str]) -> tuple[Dearer, ...]:
    """Acts that still tell and that the step makes dearer by more than a step of attention, the dearest first."""
    knowledge, now = diagnosis.case.knowledge, diagnosis.case.observations.access
    then: Mapping[str, bool] = now
    for step in reached:
        then = after(knowledge.access, then, step, True)
    found = []
    for id, told in diagnosis.open_outcomes.items():
        if id in knowledge.tests and id not in shown and told.gain >= settings.least_gain:
            more = _price(knowledge, settings, id, then) - _price(knowledge, settings, id, now)
            if more > settings.step:
                found.append(Dearer(id, knowledge.tests[id].name, more))
    return tuple(sorted(found, key=lambda dearer: (-dearer.more, dearer.id)))


def _price(knowledge: Knowledge, settings: Settings, test: str, state: Mapping[str, bool]) -> float:
    way = way_to(knowledge, knowledge.tests[test].access, state)
    return settings.hour * (way.minutes + way.undo_minutes) / 60 + settings.waiting_hour * way.waiting / 60


def _in_order(knowledge: Knowledge, chances: Sequence[LastChance]) -> list[LastChance]:
    """The best first, but nothing before what it would itself take away."""
    left, ordered = list(chances), []
    while left:
        harmless = [one for one in left if not any(_takes(knowledge, one, other) for other in left if other is not one)]
        ordered.append((harmless or left)[0])
        left.remove(ordered[-1])
    return ordered


def _takes(knowledge: Knowledge, one: LastChance, other: LastChance) -> bool:
    """Whether the way to ``one`` takes away what ``other`` shows."""
    if one.id not in knowledge.tests:
        return False
    steps = way_to(knowledge, knowledge.tests[one.id].access, {}).steps
    taken = {finding for step in steps for finding in knowledge.access[step].destroys}
    return bool(taken & set(other.findings))
