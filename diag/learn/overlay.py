"""What was learnt as an overlay on the base: changed numbers with their intervals, and the counts behind them."""

from __future__ import annotations

import json
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from diag.knowledge.types import Knowledge
from diag.learn.expected import Throw
from diag.learn.learning import Learnt
from diag.learn.numbers import throws_of
from diag.learn.posterior import INTERVAL
from diag.learn.tally import Seen, Tally, Together
from diag.learn.told import LearntChance, LearntShare, learnt_chances, learnt_shares
from diag.network.case_network import NOTHING_WRONG
from diag.network.children import UNLISTED
from diag.text import Mark, Problem, ProblemsFound
from diag.text.write import write_text

COUNTS = "learnt.json"
FORMAT = 1
_SEEN = ("counts", "scored", "complete")


def write_overlay(folder: Path, learnt: Learnt) -> None:
    """Write the overlay; what lay there is replaced. Raises OSError where the folder cannot be written."""
    folder.mkdir(parents=True, exist_ok=True)
    digests = sorted({case.digest for case in learnt.cases} | learnt.earlier)
    source = f"learnt_{sha256(' '.join(digests).encode()).hexdigest()[:8]}"
    shares = [share for share in learnt_shares(learnt) if share.after != share.before]
    chances = learnt_chances(learnt)
    write_text(folder / COUNTS, json.dumps(_counts_data(learnt, digests), indent=1, sort_keys=True) + "\n")
    write_text(folder / "references.yaml", _references(source, len(digests), learnt))
    write_text(folder / "overlay.yaml", _changes(learnt.before, shares, chances, source, len(digests)))


def read_counts(folder: Path, knowledge: Knowledge) -> tuple[Tally | None, frozenset[str]]:
    """What an overlay counted before; None where there is none. Raises ProblemsFound where it cannot be added to."""
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        return None, frozenset()
    try:
        data = json.loads((folder / COUNTS).read_text(encoding="utf-8"))
        version, cases, tally = data["knowledge"], frozenset(data["cases"]), _tally(data, knowledge)
    except (OSError, ValueError, KeyError, TypeError):
        raise _refused(folder, "it holds something else than what was learnt.", "Name a new folder.") from None
    if version != knowledge.version:
        hint = "Learn from all case files anew, into a new folder."
        raise _refused(folder, "it was learnt over another version of the base.", hint)
    return tally, cases


def _refused(folder: Path, message: str, hint: str) -> ProblemsFound:
    return ProblemsFound([Problem(Mark((folder / COUNTS).as_posix(), 1, 1), "not-learnt", message, hint)])


def _counts_data(learnt: Learnt, digests: list[str]) -> dict[str, Any]:
    tally = learnt.tally
    return {
        "format": FORMAT,
        "knowledge": learnt.before.version,
        "cases": digests,
        "found": tally.found,
        "not_found": tally.not_found,
        "groups": [
            {"fitted": dict(fitted), "named": named, "cases": cases}
            for (fitted, named), cases in sorted(tally.groups.items())
        ],
        "throws": [
            {**throw._asdict(), **{name: getattr(seen, name).tolist() for name in _SEEN}}
            for throw, seen in sorted(tally.throws.items())
        ],
        "together": _pairs(tally.together),
        "log_evidence": tally.log_evidence,
    }


def _pairs(together: Together | None) -> list[list[float]]:
    """The products above the diagonal and on it, those that are not nought."""
    if together is None:
        return []
    upper = np.triu(together.products)
    return [[*map(float, place), float(upper[*place])] for place in np.argwhere(upper)]


def _together(pairs: list[list[float]], knowledge: Knowledge) -> Together | None:
    if not pairs:
        return None
    together = Together.of(throws_of(knowledge))
    for one, other, product in pairs:
        together.products[int(one), int(other)] = together.products[int(other), int(one)] = product
    return together


def _tally(data: dict[str, Any], knowledge: Knowledge) -> Tally:
    groups = {(tuple(sorted(g["fitted"].items())), bool(g["named"])): int(g["cases"]) for g in data["groups"]}
    throws = {
        Throw(t["child"], t["parent"], t["state"]): Seen(*(np.array(t[name], dtype=float) for name in _SEEN))
        for t in data["throws"]
    }
    together = _together(data["together"], knowledge)
    return Tally(dict(data["found"]), dict(data["not_found"]), throws, groups, together, float(data["log_evidence"]))


def _references(source: str, cases: int, learnt: Learnt) -> str:
    where = f"over the base of version {learnt.before.version}; the counts, and which cases, stand in {COUNTS}"
    return f'references:\n  {source}: {{name: "{cases} closed cases of our own", where: "{where}"}}\n'


def _changes(
    knowledge: Knowledge, shares: Iterable[LearntShare], chances: Iterable[LearntChance], source: str, cases: int
) -> str:
    fields: dict[str, dict[str, Any]] = {}
    for share in shares:
        number = _number(share.weight, share.weight_interval, source)
        if share.id == NOTHING_WRONG:
            fields["share_without_fault"] = {"value": number}
        elif share.id.startswith(UNLISTED):
            fields.setdefault(share.id.removeprefix(UNLISTED), {})["residual"] = number
        else:
            fields.setdefault(share.id, {})["weight"] = number
    for chance in chances:
        _add_chance(knowledge, fields, chance, _number(chance.after, chance.after_interval, source))
    head = f"# Written by 'diag learn'; ranges hold {INTERVAL:.0%}.\ntitle: Learnt from {cases} cases\nchanges:"
    return head + ("".join(_lines(fields, 1)) if fields else " {}") + "\n"


def _add_chance(knowledge: Knowledge, fields: dict[str, dict[str, Any]], chance: LearntChance, number: str) -> None:
    child = knowledge.findings.get(chance.child) or knowledge.effects[chance.child]
    if not chance.parent:
        alarm = fields.setdefault(chance.child, {}).setdefault("false_alarm", {})
        alarm[chance.state] = number
        return
    parent = knowledge.causes.get(chance.parent) or knowledge.effects[chance.parent]
    section = "shows" if chance.child in knowledge.findings else "leads_to"
    links = fields.setdefault(chance.parent, {}).setdefault(section, {})
    if len(parent.states) == 2 and len(child.states) == 2:
        links[chance.child] = number
    elif len(parent.states) == 2:
        links.setdefault(chance.child, {})[chance.state] = number
    elif len(child.states) == 2:
        links.setdefault(chance.child, {})[chance.parent_state] = number
    else:
        links.setdefault(chance.child, {}).setdefault(chance.parent_state, {})[chance.state] = number


def _number(value: float, interval: tuple[float, float], source: str) -> str:
    low, high = min(interval[0], value), max(interval[1], value)
    return f"{_figure(value)} ({_figure(low)}..{_figure(high)}) computed {source}"


def _figure(value: float) -> str:
    """Eight digits, as many as single numbers of a long list keep apart; never a nought for what can be."""
    return f"{value:.8g}"


def _lines(fields: dict[str, Any], depth: int) -> Iterable[str]:
    for key in sorted(fields):
        value = fields[key]
        if isinstance(value, dict):
            yield f"\n{'  ' * depth}{key}:"
            yield from _lines(value, depth + 1)
        else:
            yield f"\n{'  ' * depth}{key}: {value}"
