"""What a question or a test takes from where the vehicle stands now."""

from __future__ import annotations

from dataclasses import dataclass

from diag.network.case_network import CaseNetwork
from diag.plan.access import HERE, Way, way_to
from diag.plan.cost import price
from diag.plan.locks import Effects, expected_harm
from diag.plan.settings import Settings

QUESTION_MINUTES = 1.0


@dataclass(frozen=True)
class Act:
    """A question or a test: own minutes with those of its way, minutes that only pass, money, and all as one price.

    harm: price of what it may break, in ``cost`` too.
    """

    id: str
    name: str
    cost: float
    minutes: float
    money: float
    waiting: float
    way: Way
    harm: float = 0.0


def act(case: CaseNetwork, id: str, settings: Settings, effects: Effects | None = None) -> Act:
    """The act with the id of a test, a finding to ask for, or a history fact.

    effects: P(effect | e) by id, shape (states,), for what the act may break; None: nothing is counted for it.
    """
    knowledge = case.knowledge
    if id in knowledge.tests:
        return _test(case, id, settings, effects or {})
    asked = knowledge.findings.get(id) or knowledge.history[id]
    return Act(id, asked.name, price(settings, QUESTION_MINUTES, 0.0, 0.0), QUESTION_MINUTES, 0.0, 0.0, HERE)


def _test(case: CaseNetwork, id: str, settings: Settings, effects: Effects) -> Act:
    entry = case.knowledge.tests[id]
    way = way_to(case.knowledge, entry.access, case.observations.access)
    minutes = entry.minutes.value + way.minutes + way.undo_minutes
    waiting = way.waiting + (entry.waiting.value if entry.waiting else 0.0)
    missing = 0 if settings.tools is None else len(set(entry.tools) - settings.tools)
    harm = expected_harm([entry.harm, *(case.knowledge.access[step].harm for step in way.steps)], effects)
    cost = price(settings, minutes, waiting, entry.money.value, missing, harm)
    return Act(id, entry.name, cost, minutes, entry.money.value, waiting, way, harm)
