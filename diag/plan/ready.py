"""Before the first start: what may come back and from where, what is still open, and whether to start.

The next run of the engine is one more stage with nothing repaired before it (the present one, where the engine has not
run since the repair): its effects are what may come.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.information import entropy
from diag.network.now import BROUGHT_IN, LEFT_IN, REPAIR_FAILED
from diag.network.observations import Mended, Observations
from diag.plan.act import Act, act
from diag.plan.gates import GateNow, gates_now, stops
from diag.plan.locks import locked_by, locks_in_force
from diag.plan.settings import Settings

Array = npt.NDArray[np.float64]

# A cause that destroys the repair: with it there, one of the damages repaired comes back this likely or more.
DESTROYS = 0.1
# Above the first no start; between them the start is watched for it; below the second it is not named.
NOT_YET, WATCH = 0.1, 0.02
# Damage left in that brings trouble this likely forbids the start.
LEFT = 0.25
# A test is a test of a cause where it tells this share of what is unknown about it.
TELLS = 0.3
MOST_RETURNING = 3  # damages whose return is worked out together

NOT_EXCLUDED, DAMAGE, REPAIR, OTHERWISE = "causes_not_excluded", "damage_not_repaired", "the_repair_itself", "otherwise"
FROM: Mapping[str, str] = {REPAIR_FAILED: REPAIR, BROUGHT_IN: REPAIR, LEFT_IN: DAMAGE}

Verdict = Literal["not_yet", "yes_watching", "yes"]


@dataclass(frozen=True)
class Return:
    """A trouble that may come back: its probability in the next run, and the parts of it, which add up to it."""

    id: str
    name: str
    probability: float
    parts: Mapping[str, float]


@dataclass(frozen=True)
class OpenCause:
    """What may be there still. destroys: P(a repaired damage comes back in the next run | it is there).

    why: from where it is, likeliest first, with the probability; test: the cheapest that tells on it now, or None.
    """

    id: str
    name: str
    probability: float
    destroys: float
    why: tuple[tuple[str, float], ...]
    test: Act | None


@dataclass(frozen=True)
class Ready:
    """The answer. open_causes: those that would destroy the repair first; watching: what to watch in the start."""

    effects: tuple[Return, ...]
    open_causes: tuple[OpenCause, ...]
    gates: tuple[GateNow, ...]
    verdict: Verdict
    why: tuple[str, ...]
    watching: tuple[str, ...]

    @property
    def tests(self) -> tuple[Act, ...]:
        """The tests of the open causes, each once."""
        return tuple({cause.test.id: cause.test for cause in self.open_causes if cause.test}.values())


def ready(knowledge: Knowledge, observations: Observations, settings: Settings) -> Ready:
    """What is open before the first start. Raises ImpossibleEvidence."""
    diagnosis = Diagnosis(compile_case(knowledge, _before_run(knowledge, observations)))
    returns = tuple(_returns(diagnosis))
    gates = gates_now(knowledge, observations)
    causes = tuple(_open_causes(diagnosis, settings))
    verdict, why, watching = _verdict(knowledge, returns, causes, gates)
    return Ready(returns, causes, gates, verdict, why, watching)


def _before_run(knowledge: Knowledge, observations: Observations) -> Observations:
    """The observations with the next run as the present stage."""
    present = compile_case(knowledge, observations).now
    if observations.mended and not present.ran:
        return observations
    nothing = Mended(observations.stage + 1, {}, {})
    return replace(observations, mended=(*observations.mended, nothing))


def _returns(diagnosis: Diagnosis) -> Iterable[Return]:
    troubles = list(diagnosis.case.knowledge.troubles.values())
    shares = _shares_of_reasons(diagnosis)
    tables = diagnosis.with_effects([trouble.effects for trouble in troubles])
    for trouble, table in zip(troubles, tables, strict=True):
        coming = _not_sound(table)
        parts = dict.fromkeys((NOT_EXCLUDED, DAMAGE, REPAIR, OTHERWISE), 0.0)
        for item, weight in zip(diagnosis.states, coming.tolist(), strict=True):
            for part, share in shares[item].items():
                parts[part] += weight * share
        yield Return(trouble.id, trouble.name, float(coming.sum()), parts)


def _shares_of_reasons(diagnosis: Diagnosis) -> dict[str, dict[str, float]]:
    """For each item of the list from where it is, in shares that add up to 1."""
    found: dict[str, dict[str, float]] = {}
    for item in diagnosis.states:
        parts: dict[str, float] = {}
        for why, p in diagnosis.reasons.get(item, {}).items():
            part = FROM.get(why, NOT_EXCLUDED)
            parts[part] = parts.get(part, 0.0) + p
        total = sum(parts.values())
        found[item] = {part: p / total for part, p in parts.items()} if total > 0 else {OTHERWISE: 1.0}
    return found


def _not_sound(table: Array) -> Array:
    """P(item, any of these effects is not sound | e), shape (items,)."""
    flat = table.reshape(len(table), -1)
    return np.asarray(flat.sum(1) - flat[:, 0])


def _open_causes(diagnosis: Diagnosis, settings: Settings) -> Iterable[OpenCause]:
    """Everything that may be there, those that would destroy the repair first."""
    posterior, destroying = diagnosis.posterior, _destroying(diagnosis)
    places = [place for place in np.argsort(-posterior, kind="stable").tolist() if _worth(diagnosis, place)]
    first = [place for place in places if destroying[place] >= DESTROYS]
    first.sort(key=lambda place: (-posterior[place] * destroying[place], diagnosis.states[place]))
    acts = _acts(diagnosis, settings)
    for place in [*first, *(place for place in places if place not in first)]:
        item = diagnosis.states[place]
        why = sorted(diagnosis.reasons.get(item, {}).items(), key=lambda pair: -pair[1])
        yield OpenCause(
            id=item,
            name=_name(diagnosis.case.knowledge, item),
            probability=float(posterior[place]),
            destroys=float(destroying[place]),
            why=tuple((reason, p) for reason, p in why if p > 0),
            test=_cheapest_test(diagnosis, place, acts),
        )


def _worth(diagnosis: Diagnosis, place: int) -> bool:
    return diagnosis.states[place] != NOTHING_WRONG and bool(diagnosis.posterior[place] >= WATCH)


def _destroying(diagnosis: Diagnosis) -> Array:
    """P(a repaired damage comes back in the next run | item), shape (items,); any damage where none was repaired."""
    mended = diagnosis.case.observations.mended
    damage = list(diagnosis.case.now.left)
    repaired = [d for d in damage if any(m.success.get(d, 0.0) > 0 for m in mended)] or damage
    likely = sorted(repaired, key=lambda d: (float(diagnosis.effects()[d][0]), d))[:MOST_RETURNING]
    coming = _not_sound(diagnosis.with_effects([likely])[0]) if likely else np.zeros(len(diagnosis.states))
    posterior = diagnosis.posterior
    return np.divide(coming, posterior, out=np.zeros_like(coming), where=posterior > 0)


def _acts(diagnosis: Diagnosis, settings: Settings) -> dict[str, Act]:
    """The tests that can be done as things stand, with their cost from here."""
    case, effects = diagnosis.case, diagnosis.effects()
    locks = locks_in_force(case.knowledge, case.observations, effects)
    found = {}
    for id in diagnosis.open_outcomes:
        if id in case.knowledge.tests:
            of = act(case, id, settings, effects)
            if not of.way.barred_by and not locked_by(locks, id, case.knowledge.tests[id].access, of.way):
                found[id] = of
    return found


def _cheapest_test(diagnosis: Diagnosis, place: int, acts: Mapping[str, Act]) -> Act | None:
    """The cheapest test that tells much about one item, else the one that tells most for its cost."""
    p = float(diagnosis.posterior[place])
    unknown = entropy(np.array([p, 1.0 - p]))
    tells = {id: _tells(diagnosis.open_outcomes[id], place) for id in acts}
    good = [id for id, bits in tells.items() if bits >= TELLS * unknown]
    if good:
        return acts[min(good, key=lambda id: (acts[id].cost, id))]
    some = [id for id, bits in tells.items() if bits > 0.05 * unknown]
    return acts[max(some, key=lambda id: (tells[id] / acts[id].cost, id))] if some else None


def _tells(outcome: Outcomes, place: int) -> float:
    """Expected information gain about whether one item is there, in bits."""
    whole, own = outcome.joint.sum(0), outcome.joint[place]
    return Outcomes(outcome.findings, np.stack([own, np.clip(whole - own, 0.0, None)])).gain


def _verdict(
    knowledge: Knowledge, returns: Sequence[Return], causes: Sequence[OpenCause], gates: Sequence[GateNow]
) -> tuple[Verdict, tuple[str, ...], tuple[str, ...]]:
    destroying = [cause for cause in causes if cause.destroys >= DESTROYS]
    why = [f"{knowledge.findings[f].name} ({f}) forbids it." for f in stops(gates)]
    why += [f"{c.name} ({c.id}) is not excluded and would undo the repair." for c in destroying if _bars(c)]
    why += [f"{r.name}: the damage behind it is not repaired." for r in returns if r.parts[DAMAGE] >= LEFT]
    watching = tuple(c.id for c in causes if c.probability >= WATCH and not (_bars(c) and c in destroying))
    if why:
        return "not_yet", tuple(why), watching
    return ("yes_watching" if watching else "yes"), (), watching


def _bars(cause: OpenCause) -> bool:
    return cause.probability >= NOT_YET


def _name(knowledge: Knowledge, item: str) -> str:
    if item.startswith(UNLISTED):
        return f"a cause of '{knowledge.effects[item.removeprefix(UNLISTED)].name}' that no chapter lists"
    entry = knowledge.causes.get(item) or knowledge.effects.get(item)
    return entry.name if entry else UNLISTED_ID
