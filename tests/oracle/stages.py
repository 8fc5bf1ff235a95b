"""Cases with repairs, worked out by carrying the probability of every world from one stage to the next.

A world is (initiating cause, which faults are there, how each damage is). Nothing is factored and nothing left out: all
sets of faults stand in one array. Written from the description of the model, not from the code.
"""

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np

from diag.knowledge.types import Knowledge
from diag.network.observations import Mended, Observations


class Worlds:
    """``weight``: P(world, e), shape (causes and "nothing wrong", sets of faults, states of each damage)."""

    def __init__(self, knowledge: Knowledge, observations: Observations) -> None:
        self.knowledge = knowledge
        self.observations = observations
        self.causes = list(knowledge.causes)
        self.damage = [e.id for e in knowledge.effects.values() if e.kind == "damage"]
        self.mechanisms = [e.id for e in knowledge.effects.values() if e.kind == "mechanism"]
        sets = np.arange(2 ** len(self.causes))
        self.there = {c: (sets >> i & 1).astype(bool) for i, c in enumerate(self.causes)}
        self.known: dict[tuple, np.ndarray] = {}  # distributions that were worked out before
        self.weight = self._begin()
        self._run(1, first=True)
        for mended in observations.mended:
            self._repair(mended)
            self._run(mended.stage, first=False)

    def _begin(self) -> np.ndarray:
        shares = np.array([self.knowledge.causes[c].weight.value for c in self.causes])
        nothing = self.knowledge.model["share_without_fault"].value.value
        beside = self.knowledge.model["coexistence"].value.value * shares / shares.sum()
        sound = (1,) * len(self.damage)
        rows = []
        for own, prior in enumerate([*shares, nothing]):
            chance = np.full(2 ** len(self.causes), prior / (shares.sum() + nothing))
            for i, cause in enumerate(self.causes):
                p = 1.0 if i == own else beside[i]
                chance = chance * np.where(self.there[cause], p, 1 - p)
            rows.append(chance)
        weight = np.zeros((len(rows), 2 ** len(self.causes), *(2,) * len(self.damage)))
        weight[(slice(None), slice(None), *(0 for _ in sound))] = rows
        return weight

    def _repair(self, mended: Mended) -> None:
        for cause in self.causes:
            stays, comes = 1 - mended.success.get(cause, 0.0), mended.brings_in.get(cause, 0.0)
            there = self.there[cause]
            with_it, without = self.weight[:, there].copy(), self.weight[:, ~there].copy()
            kept = 1 - (1 - stays) * (1 - comes)
            self.weight[:, there] = with_it * kept + without * comes
            self.weight[:, ~there] = with_it * (1 - kept) + without * (1 - comes)
        for axis, damage in enumerate(self.damage, start=2):
            success = mended.success.get(damage, 0.0)
            sound, bad = np.take(self.weight, [0], axis), np.take(self.weight, [1], axis)
            self.weight = np.concatenate([sound + bad * success, bad * (1 - success)], axis)

    def _run(self, stage: int, first: bool) -> None:
        looks = [look for look in self.observations.looks if look.stage == stage]
        running = {f for m in self.mechanisms for link in self.knowledge.effects[m].shows for f in [link.child]}
        if not first and not any(look.finding in running for look in looks):
            self._look_at_rest(looks)
            return
        found = np.zeros_like(self.weight)
        for stood in product((0, 1), repeat=len(self.damage)):
            for states in product(*(range(len(e.states)) for e in self.knowledge.effects.values())):
                now = dict(zip(self.knowledge.effects, states, strict=True))
                chance = self._chance(now, dict(zip(self.damage, stood, strict=True)), first)
                for look in looks:
                    chance = chance * self._likelihood(look, now)
                after = tuple(now[d] for d in self.damage)
                found[(slice(None), slice(None), *after)] += chance * self.weight[(slice(None), slice(None), *stood)]
        self.weight = found

    def _look_at_rest(self, looks: Sequence) -> None:
        for stood in product((0, 1), repeat=len(self.damage)):
            now = {**dict.fromkeys(self.mechanisms, 0), **dict(zip(self.damage, stood, strict=True))}
            for look in looks:
                self.weight[(slice(None), slice(None), *stood)] *= self._likelihood(look, now)

    def _chance(self, now: Mapping[str, int], stood: Mapping[str, int], first: bool) -> np.ndarray:
        """P(all effects come out like this | faults), over all sets of faults."""
        chance = np.ones(2 ** len(self.causes))
        for effect in self.knowledge.effects.values():
            new = self._distribution(effect.id, effect.states, effect.leak, now, leaks=first or effect.kind != "damage")
            if effect.id in stood and not first and stood[effect.id]:
                new = np.stack([np.zeros_like(new[0]), np.ones_like(new[1])])  # it stands already
            chance = chance * new[now[effect.id]]
        return chance

    def _distribution(self, child, states, leak, now, leaks=True) -> np.ndarray:
        """P(child | faults, effects), the highest of what each parent throws; shape (states, sets of faults)."""
        above_it = [
            e.id for e in self.knowledge.effects.values() for link in (*e.leads_to, *e.shows) if link.child == child
        ]
        key = (child, leaks, *(now[e] for e in above_it), *(n.value for n in leak.values()))
        if key in self.known:
            return self.known[key]
        below = np.ones((len(states), 2 ** len(self.causes)))
        if leaks:
            own = np.array([leak[s].value if s in leak else 0.0 for s in states])
            below *= (1 - np.array([own[i + 1 :].sum() for i in range(len(states))]))[:, None]
        for parent in [*self.knowledge.causes.values(), *self.knowledge.effects.values()]:
            for link in (*parent.leads_to, *parent.shows):
                if link.child == child:
                    for place, state in enumerate(parent.states):
                        told = link.strengths.get(state, {})
                        above = [sum(told[s].value for s in states[i + 1 :] if s in told) for i in range(len(states))]
                        acts = self.there[parent.id] if parent.id in self.there else now[parent.id] == place
                        acts = acts & (place == 1) if parent.id in self.there else acts
                        below = np.where(acts, below * (1 - np.array(above))[:, None], below)
        self.known[key] = np.diff(below, axis=0, prepend=0.0)
        return self.known[key]

    def _likelihood(self, look, now: Mapping[str, int]) -> np.ndarray:
        finding = self.knowledge.findings[look.finding]
        factor = self.knowledge.model["complaint_false_alarm"].value.value if look.complaint else 1.0
        alarm = {s: _Value(n.value * factor) for s, n in finding.false_alarm.items()}
        return np.array(look.likelihood) @ self._distribution(look.finding, finding.states, alarm, now)

    def list_now(self) -> dict[str, float]:
        """P(item, e): the initiating cause while it is there, else what is there, each of n things 1/n."""
        brought = {c for m in self.observations.mended for c, p in m.brings_in.items() if p > 0}
        found = dict.fromkeys([*self.causes, *self.damage, "nothing_wrong"], 0.0)
        for states in product((0, 1), repeat=len(self.damage)):
            bad = [d for d, s in zip(self.damage, states, strict=True) if s]
            table = self.weight[(slice(None), slice(None), *states)]
            for own, cause in zip(table[:-1], self.causes, strict=True):
                found[cause] += own[self.there[cause]].sum()
                self._share(found, np.where(self.there[cause], 0.0, own), self.causes, bad)
            self._share(found, table[-1], [c for c in self.causes if c in brought], [])
        return found

    def _share(self, found: dict[str, float], weight: np.ndarray, among: Sequence[str], bad: Sequence[str]) -> None:
        """Each of the n things that are there takes 1/n; where none is, nothing is wrong."""
        count = sum((self.there[c].astype(int) for c in among), np.zeros(len(weight), dtype=int)) + len(bad)
        part = weight / np.maximum(count, 1)
        for cause in among:
            found[cause] += part[self.there[cause]].sum()
        for damage in bad:
            found[damage] += part.sum()
        found["nothing_wrong"] += weight[count == 0].sum()

    def present(self, cause: str) -> float:
        return float(self.weight[:, self.there[cause]].sum() / self.weight.sum())


class _Value:
    def __init__(self, value: float) -> None:
        self.value = value
