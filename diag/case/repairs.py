"""What a repair entry means: which faults it ends and how surely, and what its work may bring in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diag.case.entry import Changed, HowWell, RepairEntry
from diag.case.ids import Ids
from diag.knowledge.types import AccessStep, Cause, Effect, Knowledge, Number, Part, Repair
from diag.network.observations import Earlier, Mended


def mended(entry: RepairEntry, stage: int, ids: Ids, knowledge: Knowledge) -> Mended:
    """A repair of this case, which begins ``stage``."""
    faults = righted(entry, ids, knowledge)
    success = {fault: _success(entry.how_well, repair, knowledge) for fault, repair in faults.items()}
    return Mended(stage, success, _brings_in(entry, ids, knowledge))


def earlier(entry: RepairEntry, ids: Ids, knowledge: Knowledge) -> Earlier:
    """A repair before the case. Trouble that is still there speaks against what was put right."""
    faults = righted(entry, ids, knowledge)
    right, other = (knowledge.model[f"relief_by_{which}_repair"].value.value for which in ("right", "other"))
    weight = _weight_of_relief(entry.changed, right, other)
    return Earlier({f: (1 - _success(entry.how_well, r, knowledge)) * weight for f, r in faults.items()})


def sound(good: Iterable[str], ids: Ids, knowledge: Knowledge) -> Earlier:
    """Parts that turned out good: none of their faults was there."""
    faults = [ids[told].id for told in good if not isinstance(ids[told], Part)]
    for told in good:
        part = knowledge.parts.get(ids[told].id)
        faults += part.faults if part else ()
    return Earlier(dict.fromkeys(faults, 0.0))


def righted(entry: RepairEntry, ids: Ids, knowledge: Knowledge) -> dict[str, Repair | None]:
    """Every cause and damage that the repair ends, the other faults of a renewed part among them."""
    found: dict[str, Repair | None] = {}
    for told in entry.repair:
        named = ids[told]
        if isinstance(named, Cause | Effect):
            found[named.id] = named.repair
        for part in knowledge.parts.values():
            if named.id == part.id or named.id in part.renewed_by:
                found.update({fault: _repair_of(fault, knowledge) for fault in part.faults})
    return found


def _repair_of(fault: str, knowledge: Knowledge) -> Repair | None:
    entry = knowledge.causes.get(fault) or knowledge.effects[fault]
    return entry.repair


def _success(how_well: HowWell, repair: Repair | None, knowledge: Knowledge) -> float:
    """Probability that the fault is gone. One whose repair the base does not tell counts as put right."""
    usual = 1.0 if repair is None else repair.success.value
    if how_well == "with_trouble":
        return usual * knowledge.model["success_with_trouble"].value.value
    if how_well == "fine":
        return 1.0 - (1.0 - usual) * knowledge.model["failure_when_fine"].value.value
    return usual


def _weight_of_relief(changed: Changed, right: float, other: float) -> float:
    """How much likelier what it changed is after a failed right repair than after another one."""
    if changed == "same":
        return (1 - right) / (1 - other)
    return right / other if changed in ("better", "gone") else 1.0


def _brings_in(entry: RepairEntry, ids: Ids, knowledge: Knowledge) -> dict[str, float]:
    """Faults that the work may bring in; a repair and what was disturbed besides act independently."""
    absent: dict[str, float] = {}
    for brought in _sources(entry, ids, knowledge):
        for cause, number in brought.items():
            absent[cause] = absent.get(cause, 1.0) * (1.0 - number.value)
    return {cause: 1.0 - none for cause, none in sorted(absent.items())}


def _sources(entry: RepairEntry, ids: Ids, knowledge: Knowledge) -> Iterator[Mapping[str, Number]]:
    """What each repair and each step besides may bring in; work done once for several repairs counts once."""
    repairs = [repair for told in entry.repair if (repair := _named(told, ids, knowledge))]
    strongest: dict[str, Number] = {}
    for repair in repairs:
        for cause, number in repair.brings_in.items():
            if cause not in strongest or strongest[cause].value < number.value:
                strongest[cause] = number
    yield strongest
    done = _with_needs(knowledge, (step for repair in repairs for step in repair.access))
    for told in entry.disturbed:
        step = ids[told]
        if isinstance(step, AccessStep) and step.id not in done:
            yield step.brings_in


def _named(told: str, ids: Ids, knowledge: Knowledge) -> Repair | None:
    entry = ids[told]
    if isinstance(entry, Part):
        return _repair_of(entry.renewed_by[0], knowledge)
    return entry.repair if isinstance(entry, Cause | Effect) else None


def _with_needs(knowledge: Knowledge, steps: Iterable[str]) -> frozenset[str]:
    found: set[str] = set()
    waiting = list(steps)
    while waiting:
        step = waiting.pop()
        if step not in found:
            found.add(step)
            waiting += knowledge.access[step].needs
    return frozenset(found)
