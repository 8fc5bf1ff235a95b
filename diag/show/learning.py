"""What closed cases taught: as JSON, and in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diag.knowledge.types import Knowledge
from diag.learn.learning import Learnt
from diag.learn.told import Interval, LearntChance, LearntShare, learnt_chances, learnt_shares
from diag.show.as_json import plain
from diag.show.page import Page
from diag.show.words import per_cent

SHOWN = 12  # strengths and false alarms on the screen, those that moved most; all are in --json


def learnt_data(learnt: Learnt) -> dict[str, Any]:
    """The fields of ``diag learn --json``; the same whatever the order of the files."""
    return {
        "knowledge": learnt.before.version,
        "learnt": len(learnt.cases),
        "cases": [case.digest for case in learnt.cases],
        "learnt_before": sorted(learnt.earlier),
        "refused": plain(learnt.refused),
        "rounds": learnt.rounds,
        "method": "second_faults_apart" if learnt.apart else "exact",
        "causes": plain(learnt_shares(learnt)),
        "chances": plain(learnt_chances(learnt)),
    }


def learnt_page(learnt: Learnt, out: Path | None) -> Page:
    """What moved, with where it lies in 9 of 10; the files that were refused, with the reason."""
    page = Page()
    shares = learnt_shares(learnt)
    found = sum(share.confirmed for share in shares)
    page.title(f"Learnt from {_cases(len(learnt.cases))}; {found:.0f} with a confirmed cause in all")
    page.say("Shares of opened cases, before and after; in brackets where it lies in 9 of 10.")
    told = [share for share in shares if share.confirmed]
    for share in sorted(told, key=lambda share: (-share.confirmed, share.id)):
        page.say(_share(learnt.before, share), 2, "-")
    chances = sorted(learnt_chances(learnt), key=lambda told: -abs(told.after - told.before))[:SHOWN]
    if chances:
        page.title("Strengths and false alarms that moved most")
        for chance in chances:
            page.say(_chance(learnt.before, chance), 2, "-")
    if learnt.refused:
        page.title("Not learnt from")
        for refused in learnt.refused:
            page.say(f"{refused.file}: {refused.why}", 2, "-")
    page.blank()
    page.say(f"Kept in {out}. Use it: diag --knowledge {out} ..." if out else "Nothing was written; -o DIR keeps it.")
    return page


def _share(base: Knowledge, share: LearntShare) -> str:
    name = base.causes[share.id].name if share.id in base.causes else share.id
    return f"{name} ({share.id}): {_moved(share)}, confirmed {share.confirmed:.0f} times"


def _chance(base: Knowledge, chance: LearntChance) -> str:
    own = base.findings.get(chance.child) or base.effects[chance.child]
    state = "" if len(own.states) == 2 else f"={chance.state}"
    parent = base.causes.get(chance.parent) or base.effects.get(chance.parent)
    what = f"{parent.name} brings about: {own.name}" if parent else f"false alarm of: {own.name}"
    return f"{what} ({chance.child}{state}): {_moved(chance)}, from about {_cases(round(chance.told))}"


def _moved(told: LearntShare | LearntChance) -> str:
    before, after = _with(told.before, told.before_interval), _with(told.after, told.after_interval)
    return f"{before} before, {after} now"


def _with(value: float, interval: Interval) -> str:
    return f"{per_cent(value)} ({per_cent(interval[0])} to {per_cent(interval[1])})"


def _cases(count: int) -> str:
    return "1 case" if count == 1 else f"{count} cases"
