"""Stages handed on: where the unrolled network is too wide, each stage is begun from the marginals of the one before.

For every initiating cause (a *lane*) the probability of each fault and each damage at the end of a stage becomes the
prior of the next, as if they were independent given the cause. What the stages say together of C is kept exactly in
the weights of the lanes; only what ties faults and damage together inside a lane is lost.

Reference
---------
Boyen and Koller 1998, Tractable inference for complex stochastic processes, UAI (belief states as products of
marginals; the error does not build up).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.network.case_network import NOTHING_WRONG, CaseNetwork, compile_case
from diag.network.inference import Inference
from diag.network.model import Network
from diag.network.now import (
    ALL_ALONG,
    BROUGHT_IN,
    LEFT_IN,
    NEVER_REPAIRED,
    REPAIR_FAILED,
    Changes,
    End,
    NowList,
    halves,
    not_sound,
    parted,
    rule,
)
from diag.network.observations import Look
from diag.network.plan import CliqueTooLarge
from diag.network.readings import reading_evidence, reading_nodes
from diag.network.stages import segment

Array = npt.NDArray[np.float64]
Probe = dict[str, Array]

# With more nodes than this a third stage is never unrolled: it does not fit, and to find that out takes long.
MANY_NODES = 200

# Lanes with this share are worked out by themselves when tests are weighed; the others together.
OWN_LANE = 0.08


class Handed:
    """The present stage of a case, begun from the marginals of the stage before; answers as NowList does."""

    def __init__(self, case: CaseNetwork) -> None:
        self.case = case
        self.changes = Changes.of(case)
        self.items = (*case.causes, *case.now.left, NOTHING_WRONG)
        until = _until(case, case.observations.stage - 1)
        self.earlier: NowList | Handed = Handed(until) if _too_many(until, 1) else belief(until)
        self.before = self.earlier.end()
        self.segment = segment(case.children, case.stages[-2], case.observations, case.observations.stage)
        here = {k.entry: self.findings[k.finding] for k in case.observations.looks if _in_present(case, k)}
        self.network = Network([*self.segment.nodes, *reading_nodes(case.observations, here)])
        self.present = {**self.segment.stage.faults, **self.segment.stage.left}
        self.likelihood = {**_seen(case, self.findings), **reading_evidence(case.observations, here)}

    @property
    def findings(self) -> Mapping[str, str]:
        """The node of each finding in the present stage."""
        return self.segment.stage.findings

    @property
    def effects(self) -> Mapping[str, str]:
        """The node of each effect in the present stage, with the engine run."""
        return self.segment.stage.effects

    @cached_property
    def lanes(self) -> Array:
        """P(e, C), shape (states of C,)."""
        return np.bincount(self.before.causes, self._weights, len(self.case.states)).astype(float)

    @cached_property
    def _weights(self) -> Array:
        """P(e, lane), shape (lanes,)."""
        return np.asarray(self.before.weights * self._columns((), [{}] * self._count)[0])

    @property
    def _count(self) -> int:
        return len(self.before.weights)

    def end(self) -> End:
        """What is handed on to the next stage."""
        ends = halves(self.case, self.changes, self.present)
        ways = [(end, lane) for end, (place, _) in enumerate(ends) for lane in self._lanes_of(place)]
        sound = {node: self._sound_or(node, 0.0) for node in self.segment.stage.left.values()}
        probes = [_times(ends[end][1], more) for more in ({}, sound) for end, _ in ways]
        total, weights = self._columns(list(self.present.values()), probes, 2 * [lane for _, lane in ways])
        into = np.zeros((len(ways), len(ends)))
        into[np.arange(len(ways)), [end for end, _ in ways]] = self.before.weights[[lane for _, lane in ways]]
        into = np.asarray(np.kron(np.eye(2), into))
        there = {id: weight @ into for id, weight in zip(self.present, weights, strict=True)}
        return parted(np.array([place for place, _ in ends]), total @ into, there)

    def _lanes_of(self, place: int) -> list[int]:
        return [int(lane) for lane in np.flatnonzero(self.before.causes == place)]

    def beside(self) -> dict[str, Array]:
        """P(fault now | e) and P(effect | e) by id: damage as it is now, mechanisms as when the engine last ran."""
        stage = self.segment.stage
        nodes = {**stage.faults, **(stage.effects if stage.ran else {}), **stage.left}
        weights = self._columns(list(nodes.values()), [{}] * self._count)[1]
        own = {id: (w @ self.before.weights) / self.lanes.sum() for id, w in zip(nodes, weights, strict=True)}
        return own if stage.ran else {**self.earlier.beside(), **own}

    def unexplained(self) -> dict[str, float]:
        """P(nothing known is behind it | e) of every finding seen out of the ordinary in the present stage."""
        of = {node: id for id, node in self.findings.items()}
        seen = [node for node, told in self.likelihood.items() if int(told.argmax()) > 0]
        found = {}
        for node in seen:
            sound = {p: np.eye(self.network.card(p))[0] for p in self.network[node].parents}
            total = self._columns((), [sound] * self._count)[0]
            found[of[node]] = float(total @ self.before.weights / self.lanes.sum())
        return found

    @property
    def shares(self) -> Array:
        """P(item, e), shape (items,)."""
        return np.asarray(self._masses.sum(0))

    def joint(self, tests: Sequence[Sequence[str]]) -> list[Array]:
        """P(item, outcome, e) of each test (nodes), shapes (items, states of each node of the test)."""
        found: list[Array] | None = None
        for masses, evidence in self._worlds():
            tables = self._given(evidence, tests, masses)
            found = tables if found is None else [a + b for a, b in zip(found, tables, strict=True)]
        assert found is not None
        return found

    @cached_property
    def reasons(self) -> dict[str, dict[str, float]]:
        """P(item, why it is there, e) of every item but ``nothing_wrong``; brought in or not is told by the prior."""
        told: dict[str, dict[str, float]] = {item: {} for item in self.items[:-1]}
        own = REPAIR_FAILED, NEVER_REPAIRED
        for lane, row in enumerate(self._masses):
            for place in np.flatnonzero(row[:-1]).tolist():
                item = self.items[place]
                if place == self.before.causes[lane]:
                    _add(told[item], own[item not in self.changes.repaired], float(row[place]))
                elif item in self.case.now.left:
                    _add(told[item], LEFT_IN, float(row[place]))
                else:
                    brought = self._brought(item)
                    _add(told[item], BROUGHT_IN, float(row[place]) * brought)
                    _add(told[item], ALL_ALONG, float(row[place]) * (1.0 - brought))
        return told

    def _brought(self, cause: str) -> float:
        absent = np.prod([1.0 - m.brings_in.get(cause, 0.0) for m in self.case.observations.mended])
        there = self.case.coexistence[self.case.causes.index(cause)]
        return float((1.0 - absent) / (1.0 - absent * (1.0 - there)))

    @cached_property
    def _masses(self) -> Array:
        """P(lane, item, e), shape (lanes, items): every lane as columns of one run."""
        points = [*rule()[0], 0.0]
        mixed = self._mixed_lanes()
        probes: list[Probe] = [{}] * self._count
        lanes = list(range(self._count))
        for lane, evidence, among in mixed:
            probes += [_times(evidence, {n: self._sound_or(n, x) for n in among}) for x in points]
            lanes += [lane] * len(points)
        total, weights = self._columns(list(self.present.values()), probes, lanes)
        self.__dict__["_weights"] = self.before.weights * total[: self._count]
        masses = np.zeros((self._count, len(self.items)))
        own = np.where(self.before.causes == len(self.case.causes), len(self.items) - 1, self.before.causes)
        masses[np.arange(self._count), own] = self._weights
        for number, (lane, _, among) in enumerate(mixed):
            columns = slice(self._count + number * len(points), self._count + (number + 1) * len(points))
            self._mix(masses[lane], lane, among, total[columns], [weight[:, columns] for weight in weights])
        return masses

    def _mixed_lanes(self) -> list[tuple[int, Probe, tuple[str, ...]]]:
        """Lanes whose cause may be gone: (lane, evidence that it is, nodes that count among what is there then)."""
        gone, everything = np.array([1.0, 0.0]), tuple(self.present.values())
        brought = tuple(self.present[cause] for cause in self.changes.brought)
        mixed: list[tuple[int, Probe, tuple[str, ...]]] = []
        for lane in np.flatnonzero(self.before.weights).tolist():
            cause = self.case.states[self.before.causes[lane]]
            if cause in self.changes.repaired:
                mixed.append((lane, {self.present[cause]: gone}, everything))
            elif cause == NOTHING_WRONG and brought:
                mixed.append((lane, {}, brought))
        return mixed

    def _mix(self, masses: Array, lane: int, among: Sequence[str], total: Array, weights: Sequence[Array]) -> None:
        """Divides one lane: each of n things there takes 1/n, what is left of it stays with the lane's own cause."""
        points, shares = rule()
        scale = np.array([w / x for x, w in zip(points, shares, strict=True)]) * self.before.weights[lane]
        own = int(masses.argmax())
        masses[:] = 0.0
        for place, (node, weight) in enumerate(zip(self.present.values(), weights, strict=True)):
            if node in among:
                masses[place] = weight[1:, :-1].sum(0) @ scale
        masses[-1] = total[-1] * self.before.weights[lane]
        masses[own] += max(self._weights[lane] - masses.sum(), 0.0)

    def _sound_or(self, node: str, x: float) -> Array:
        return np.array([1.0] + [x] * (self.network.card(node) - 1))

    def _columns(
        self, targets: Sequence[str], probes: Sequence[Probe], lanes: Sequence[int] | None = None
    ) -> tuple[Array, list[Array]]:
        """Weights of the evidence of this stage and of each target; column i is probe i in lane i (or lanes[i])."""
        chosen = np.arange(len(probes)) if lanes is None else np.array(lanes)
        factors = {
            node: self.before.marginals[id][:, chosen] * self.network.card(node)
            for id, node in self.segment.roots.items()
        }
        for column, probe in enumerate(probes):
            for node, told in probe.items():
                if node not in factors:
                    factors[node] = np.ones((len(told), len(probes)))
                factors[node][:, column] *= told
        return Inference(self.network, self.likelihood).run_dense(targets, factors, len(probes))

    def _begun(self, lanes: Array) -> Probe:
        """The marginals of lanes, weighed, as factors on the flat roots; lanes: weights that add up to 1."""
        return {
            node: (self.before.marginals[id] @ lanes) * self.network.card(node)
            for id, node in self.segment.roots.items()
        }

    def _worlds(self) -> list[tuple[Array, Probe]]:
        """What tests are weighed in: P(item, e) of that world, and its evidence. The last: all small lanes together."""
        share = self._masses.sum(1) / self._masses.sum()
        own = share >= OWN_LANE
        lanes = np.eye(self._count)
        worlds = [(self._masses[lane], self._begun(lanes[lane])) for lane in np.flatnonzero(own).tolist()]
        others = np.where(own, 0.0, self._weights)
        if others.any():
            worlds.append((self._masses[~own].sum(0), self._begun(others / others.sum())))
        return worlds

    def _given(self, evidence: Probe, tests: Sequence[Sequence[str]], masses: Array) -> list[Array]:
        """P(item, outcome, e) in one world, from P(item present, outcome | world) made to add up to P(item, e)."""
        items = [item for item, mass in zip(self.items[:-1], masses[:-1], strict=True) if mass > 0]
        nodes = [self.present[item] for item in items]
        inference = Inference(self.network, {**self.likelihood, **evidence})
        first = nodes or [next(iter(self.network))]
        rows = np.vstack([not_sound([self.network.card(n) for n in nodes]), self._all(first)]) if nodes else None
        tables = inference.weigh_with(first, tests, self._all(first) if rows is None else rows)
        found = []
        for table in tables:
            full = np.zeros((len(self.items), *table.shape[1:]))
            for row, item in enumerate((*items, NOTHING_WRONG)):
                own = table[row]
                mass = masses[self.items.index(item)]
                full[self.items.index(item)] = own * (mass / own.sum()) if own.sum() > 0 else 0.0
            found.append(full)
        return found

    def _all(self, nodes: Sequence[str]) -> Array:
        """A row that sums all states of the first node: the total."""
        row = np.zeros((1, sum(self.network.card(n) for n in nodes)))
        row[0, : self.network.card(nodes[0])] = 1.0
        return row


def _until(case: CaseNetwork, stage: int) -> CaseNetwork:
    """The case as it was at the end of a stage."""
    told = case.observations
    kept = replace(
        told, looks=tuple(look for look in told.looks if look.stage <= stage), mended=told.mended[: stage - 1]
    )
    return compile_case(case.knowledge, kept, children=case.children)


def belief(case: CaseNetwork) -> NowList | Handed:
    """All stages unrolled where that fits, else the present one begun from the marginals of the one before."""
    exact = NowList(case)
    if len(case.stages) == 1:
        return exact
    if _too_many(case, 2):
        return Handed(case)
    try:
        fits = bool(exact.reasons) and len(exact.shares) == len(exact.items)
    except CliqueTooLarge:
        fits = False
    return exact if fits else Handed(case)


def _too_many(case: CaseNetwork, stages: int) -> bool:
    return len(case.stages) > stages and len(case.faults) > MANY_NODES


def _seen(case: CaseNetwork, findings: Mapping[str, str]) -> dict[str, Array]:
    """Likelihoods of what was seen in the present stage; a further look counts as far as it is no repetition."""
    copies = case.knowledge.model["second_look_copies"].value.value
    present = case.observations.stage
    earlier = {case.node_of(look) for look in case.observations.looks if look.stage < present}
    told: dict[str, Array] = {}
    for look in case.observations.looks:
        if _in_present(case, look):
            node, likelihood = findings[look.finding], np.array(look.likelihood or ())
            again = node in told or case.node_of(look) in earlier
            told[node] = told.get(node, 1.0) * (copies + (1 - copies) * likelihood if again else likelihood)
    return dict(sorted(told.items()))


def _in_present(case: CaseNetwork, look: Look) -> bool:
    return look.stage == case.observations.stage and look.likelihood is not None


def _times(first: Probe, second: Probe) -> Probe:
    both = {node: first[node] * second[node] for node in first.keys() & second.keys()}
    return {**first, **second, **both}


def _add(told: dict[str, float], why: str, weight: float) -> None:
    told[why] = told.get(why, 0.0) + weight
