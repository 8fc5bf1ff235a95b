"""Cases of the shipped base written as a list: "ID=STATE" for what was seen, a tuple of ids for a repair."""

from collections.abc import Sequence
from functools import cache

from diag.case import Case, Entry, OpenedEntry, RepairEntry, as_entries
from diag.knowledge.types import Knowledge
from diag.session import Session, load_knowledge


@cache
def shipped() -> Knowledge:
    return load_knowledge()


def session(*told: "str | Sequence[str]", how: str = "fine", knowledge: Knowledge | None = None) -> Session:
    """The session of such a case, repairs done ``how``; the first thing seen that can be is the complaint."""
    base = knowledge or shipped()
    case = Case("story.yaml", "invented", (OpenedEntry(opened={}).stamped(1, "", ""),))
    for one in told:
        entries: Sequence[Entry] = [RepairEntry(repair=tuple(one), how_well=how)]
        if isinstance(one, str):
            entries, problems = as_entries(case, base, [one])
            assert problems == []
        new = [entry.stamped(case.last_number + n, "", "") for n, entry in enumerate(entries, start=1)]
        case = Case(case.file, case.vehicle, (*case.entries, *new))
    return Session.of(case, base)


def chance(of: Session, id: str) -> float:
    """P(id | e) in the list of causes."""
    return float(of.diagnosis.posterior[of.diagnosis.states.index(id)])


def main_reason(of: Session, id: str) -> str:
    """From where it is there now, most likely."""
    told = of.diagnosis.reasons[id]
    return max(told, key=lambda why: told[why])
