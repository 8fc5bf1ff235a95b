"""What a repair ends and what it may bring in, told when it is recorded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.case import RepairEntry
from diag.case.ids import ids_of
from diag.case.repairs import mended
from diag.knowledge.types import Cause, Effect, Knowledge, Part, Repair
from diag.show.names import ADVICE, cause_name
from diag.show.page import Page
from diag.show.words import chance


def repair_data(knowledge: Knowledge, file: str, entry: RepairEntry, number: int) -> dict[str, Any]:
    """The fields of ``diag repair --json``."""
    done = mended(entry, 0, ids_of(knowledge), knowledge)
    return {
        "file": file,
        "entry": number,
        "before_case": entry.before_case,
        "put_right": [{"id": id, "success": p} for id, p in done.success.items()],
        "may_bring_in": [] if entry.before_case else [{"id": id, "probability": p} for id, p in done.brings_in.items()],
    }


def repair_page(knowledge: Knowledge, entry: RepairEntry, number: int) -> Page:
    """What was put right, what the work may have brought in, its cautions, and what comes next."""
    done = mended(entry, 0, ids_of(knowledge), knowledge)
    page = Page()
    if entry.before_case:
        page.say(f"Recorded as entry {number}: done before this case. What was renewed is not known to be good.")
        return page
    page.say(f"Recorded as entry {number}. A new stage begins; what was seen before keeps its force.")
    for likely, ids in _by_chance(done.success).items():
        page.title(f"Put right, {likely} such repairs succeed")
        page.say("; ".join(f"{cause_name(knowledge, id)} ({id})" for id in ids), 2)
    if done.brings_in:
        page.title("The work itself may have brought in")
    for id, p in sorted(done.brings_in.items(), key=lambda pair: (-pair[1], pair[0])):
        page.say(f"{cause_name(knowledge, id)} ({id}): {chance(p)}", 2, "-")
    for hazard in dict.fromkeys(h for repair in _repairs(knowledge, entry) for h in repair.hazards):
        page.say(knowledge.hazards[hazard].caution, 2, "!")
    page.blank()
    page.say("Before the first start: diag ready. " + ADVICE)
    return page


def _by_chance(success: Mapping[str, float]) -> dict[str, list[str]]:
    """Ids by how often the repair succeeds, in words; the surest first."""
    found: dict[str, list[str]] = {}
    for id, p in sorted(success.items(), key=lambda pair: (-pair[1], pair[0])):
        found.setdefault(chance(p), []).append(id)
    return found


def _repairs(knowledge: Knowledge, entry: RepairEntry) -> list[Repair]:
    ids, found = ids_of(knowledge), []
    for told in entry.repair:
        named = ids[told]
        if isinstance(named, Part):
            named = ids[named.renewed_by[0]]
        if isinstance(named, Cause | Effect) and named.repair:
            found.append(named.repair)
    return found
