"""What can be done besides asking and testing: repair and see, or end it; each with what it is expected to cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diag.knowledge.types import Knowledge
from diag.network.case_network import NOTHING_WRONG
from diag.network.diagnosis import Diagnosis
from diag.plan.repair_cost import RepairCosts

MOST = 5
LEAST_CHANCE = 0.01  # a repair that helps less often is nobody's next step


@dataclass(frozen=True)
class Action:
    """A repair (id of its cause), leaving it as it is (nothing_wrong), or ending it.

    probability: that it helps; cost: of doing it; expected_cost: of all repairs if this one comes first, in the best
    order after it.
    """

    id: str
    kind: str
    name: str
    probability: float
    cost: float
    expected_cost: float
    minutes: float
    money: float
    cautions: tuple[str, ...] = ()


def actions(diagnosis: Diagnosis, repairs: RepairCosts) -> tuple[Action, ...]:
    """The repairs that may come next, the cheapest in expectation first, and the ending where it stands."""
    posterior = diagnosis.posterior
    chance = np.where(np.isfinite(repairs.cost), posterior * repairs.success, 0.0)
    likely = [int(i) for i in np.argsort(-chance / repairs.cost, kind="stable")[:MOST] if chance[i] >= LEAST_CHANCE]
    found = [_repair(diagnosis, repairs, place, float(chance[place])) for place in likely]
    end = Action("end", "end", "end it without finding the cause", 1.0, repairs.ending, repairs.ending, 0.0, 0.0)
    return tuple(sorted([*found, end], key=lambda action: (action.expected_cost, action.id)))


def _repair(diagnosis: Diagnosis, repairs: RepairCosts, place: int, chance: float) -> Action:
    knowledge, id = diagnosis.case.knowledge, repairs.states[place]
    then = repairs.first(diagnosis.posterior, place)
    told = (chance, float(repairs.cost[place]), then, float(repairs.minutes[place]), float(repairs.money[place]))
    if id == NOTHING_WRONG:
        return Action(id, "watch", "leave it as it is and watch it", *told)
    return Action(id, "repair", _name(knowledge, id), *told, cautions=_cautions(knowledge, id))


def _name(knowledge: Knowledge, id: str) -> str:
    repair = knowledge.causes[id].repair
    return repair.name if repair else knowledge.causes[id].name


def _cautions(knowledge: Knowledge, id: str) -> tuple[str, ...]:
    repair = knowledge.causes[id].repair
    steps = repair.access if repair else ()
    named = [h for step in steps for h in knowledge.access[step].hazards] + list(repair.hazards if repair else ())
    return tuple(dict.fromkeys(knowledge.hazards[hazard].caution for hazard in named))
