"""What keeps the trouble going now, after a repair.

The initiating cause C says what started the trouble. Once something was repaired, one wants to know what is behind
it now. While C is not repaired, or its repair failed, that is C. Where C was cured, it is one of what else is there:
faults brought in or there all along, and damage left in; each of n such things gets 1/n. Only where none is there
nothing is wrong. Where nothing was wrong from the start, only what a repair brought in counts.

The share 1/n is exact: E[1_j / n] is the integral over x from 0 to 1 of E[1_j x^(n-1)], and x^n is a product of a
factor on every single one, so each point of a Gauss-Legendre rule is one propagation. Four points are exact up to
eight things at once; beyond, the error is below 3e-5 of a probability that is itself far below that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.network.case_network import NOTHING_WRONG, CaseNetwork
from diag.network.children import YES_NO
from diag.network.inference import Inference
from diag.network.model import Network, Node, Table
from diag.network.plan import CELL_LIMIT

Array = npt.NDArray[np.float64]

POINTS = 4
# Where the unrolled network needs more cells a clique than this, stages are handed on (see handed).
CELLS = 2**18
# Lanes are parted by damage where both parts have at least this share of all.
WORTH_PARTING = 1e-3
CURED = "~cured"

NEVER_REPAIRED = "never_repaired"
REPAIR_FAILED = "repair_failed"
BROUGHT_IN = "brought_in"
ALL_ALONG = "there_all_along"
LEFT_IN = "damage_left_in"


@dataclass(frozen=True)
class Changes:
    """What the repairs of a case touched: causes put right, causes that may have been brought in."""

    repaired: tuple[str, ...]
    brought: tuple[str, ...]

    @staticmethod
    def of(case: CaseNetwork) -> Changes:
        """The changes of all repairs of the case, in the order of its causes."""
        mended = case.observations.mended
        return Changes(
            tuple(c for c in case.causes if any(m.success.get(c, 0.0) > 0 for m in mended)),
            tuple(c for c in case.causes if any(m.brings_in.get(c, 0.0) > 0 for m in mended)),
        )


@dataclass(frozen=True, eq=False)
class End:
    """The end of a stage, in lanes: by initiating cause, by whether a repaired one is still there, and by whether any
    damage is there. Inside a lane faults and damage are nearly independent.

    weights: P(e, lane), shape (lanes,); causes: the place of each lane's cause among the states of C; marginals: by
    fault and damage, shape (states, lanes).
    """

    weights: Array
    causes: npt.NDArray[np.intp]
    marginals: Mapping[str, Array]


def halves(case: CaseNetwork, changes: Changes, present: Mapping[str, str]) -> list[tuple[int, dict[str, Array]]]:
    """The lanes at the end of a stage: place of the cause, and what tells the lane from others of that cause."""
    found: list[tuple[int, dict[str, Array]]] = []
    for place, cause in enumerate(case.states):
        if cause in changes.repaired:
            found += [(place, {present[cause]: row}) for row in np.eye(2)]
        else:
            found.append((place, {}))
    return found


def parted(causes: npt.NDArray[np.intp], total: Array, weights: Mapping[str, Array]) -> End:
    """Lanes parted by whether any damage is there.

    total: P(e, lane) of every lane, then P(e, lane, no damage) of every lane, shape (2 x lanes,); weights: the same
    with each fault and damage, shape (states, 2 x lanes).
    """
    lanes = len(causes)
    whole, sound = total[:lanes], total[lanes:]
    apart = np.minimum(sound, whole - sound) > WORTH_PARTING * whole.sum()
    first = np.where(apart, sound, whole)
    reached = np.concatenate([first, (whole - sound)[apart]])
    safe = np.where(reached > 0, reached, 1.0)
    marginals = {}
    for id, weight in weights.items():
        kept = np.where(apart, weight[:, lanes:], weight[:, :lanes])
        rest = np.maximum(weight[:, :lanes] - weight[:, lanes:], 0.0)[:, apart]
        marginals[id] = np.concatenate([kept, rest], axis=1) / safe
    return End(reached, np.concatenate([causes, causes[apart]]), marginals)


class NowList:
    """The items of the list, and their joint probability with the outcomes of tests, by unrolling all stages.

    Raises CliqueTooLarge where the unrolled network is too wide.
    """

    def __init__(self, case: CaseNetwork) -> None:
        self.case = case
        self.changes = Changes.of(case)
        self.items = (*case.causes, *case.now.left, NOTHING_WRONG)
        self.present = {**case.now.faults, **case.now.left}
        self._place = {item: place for place, item in enumerate(self.items)}
        self._lane = case.prior * case.history

    def joint(self, tests: Sequence[Sequence[str]]) -> list[Array]:
        """P(item, outcome, e) of each test (nodes), shapes (items, states of each node of the test)."""
        own, sound = self._own(tests)
        found = [np.zeros((len(self.items), *table.shape[1:])) for table in own]
        for table, mine, nothing in zip(found, own, sound, strict=True):
            table[: len(self.case.causes)] += mine
            table[-1] += nothing
        if self.changes.brought:
            self._share_of_nothing(tests, found)
        if self.changes.repaired:
            self._share_of_cured(tests, found)
        return found

    @cached_property
    def shares(self) -> Array:
        """P(item, e), shape (items,)."""
        return self.joint([()])[0]

    @cached_property
    def reasons(self) -> dict[str, dict[str, float]]:
        """P(item, why it is there, e) of every item but ``nothing_wrong``."""
        own = self._own([()])[0][0]
        told: dict[str, dict[str, float]] = {item: {} for item in self.items[:-1]}
        for cause, weight in zip(self.case.causes, own.tolist(), strict=True):
            told[cause][REPAIR_FAILED if cause in self.changes.repaired else NEVER_REPAIRED] = weight
        lanes = [self._among_cured] if self.changes.repaired else []
        lanes += [self._among_brought] if self.changes.brought else []
        for lane in lanes:
            for item, weight in lane(self.present, [()])[0].items():
                _add(told[item], LEFT_IN if item in self.case.now.left else ALL_ALONG, float(weight))
            for cause, weight in lane({c: f"{c}~brought" for c in self.changes.brought}, [()])[0].items():
                _add(told[cause], BROUGHT_IN, float(weight))
                told[cause][ALL_ALONG] = max(told[cause].get(ALL_ALONG, 0.0) - float(weight), 0.0)
        return told

    @cached_property
    def lanes(self) -> Array:
        """P(e, C), shape (states of C,)."""
        causes = self.case.causes
        if not causes:
            return self._lane * self._total({}, [()])[0]
        rows = np.zeros((len(causes) + 1, 2 * len(causes)))
        place = np.arange(len(causes))
        rows[place, 2 * place + 1] = self._lane[:-1] / self.case.coexistence
        rows[-1, :2] = self._lane[-1]
        return np.asarray(self._inference({}).weigh_with(causes, [()], rows)[0])

    def end(self) -> End:
        """Faults and damage at the end of the present stage, lane by lane."""
        lanes = halves(self.case, self.changes, self.present)
        columns = [{**told, **self._certain(place)} for place, told in lanes]
        sound = {node: np.eye(self._cards[node])[0] for node in self.case.now.left.values()}
        inference = Inference(self.case.faults, self.case.likelihood, self._limit)
        total, weights = inference.run_columns(
            list(self.present.values()), [*columns, *({**column, **sound} for column in columns)]
        )
        causes = np.array([place for place, _ in lanes])
        prior = np.tile(self._lane[causes], 2)
        return parted(causes, total * prior, {n: w * prior for n, w in zip(self.present, weights, strict=True)})

    def _certain(self, place: int) -> dict[str, Array]:
        """What makes P(e | C) of P(e): the cause is there, its prior divided out."""
        if place == len(self.case.causes):
            return {}
        return {self.case.causes[place]: np.array([0.0, 1.0 / self.case.coexistence[place]])}

    @property
    def findings(self) -> Mapping[str, str]:
        """The node of each finding in the present stage."""
        return self.case.now.findings

    @property
    def effects(self) -> Mapping[str, str]:
        """The node of each effect in the present stage, with the engine run."""
        return self.case.now.effects

    def beside(self) -> dict[str, Array]:
        """P(fault now | e) and P(effect | e) by id: damage as it is now, mechanisms as when the engine last ran."""
        ran = next(stage for stage in reversed(self.case.stages) if stage.ran)
        nodes = {**self.case.now.faults, **ran.effects, **self.case.now.left}
        lanes = [self._certain(place) for place in range(len(self.case.states))]
        inference = Inference(self.case.faults, self.case.likelihood, self._limit)
        weights = inference.run_columns(list(nodes.values()), lanes)[1]
        mixed = [weight @ self._lane for weight in weights]
        return {id: weight / weight.sum() for id, weight in zip(nodes, mixed, strict=True)}

    @property
    def _limit(self) -> int:
        """A single stage has nobody to hand on to it."""
        return CELL_LIMIT if len(self.case.stages) == 1 else CELLS

    def _own(self, tests: Sequence[Sequence[str]]) -> tuple[list[Array], list[Array]]:
        """P(C = c and c is still there, outcome, e), shape (causes, ...), and P(nothing was wrong, outcome, e)."""
        causes = self.case.causes
        if not causes:
            return [np.zeros((0, *t.shape)) for t in self._total({}, tests)], [
                t * self._lane[-1] for t in self._total({}, tests)
            ]
        targets = [f"{c}~still" if c in self.changes.repaired else c for c in causes]
        rows = np.zeros((len(causes) + 1, 2 * len(causes)))
        place = np.arange(len(causes))
        rows[place, 2 * place + 1] = self._lane[:-1] / self.case.coexistence
        rows[-1, :2] = self._lane[-1]
        tables = self._inference({}).weigh_with(targets, tests, rows)
        return [table[:-1] for table in tables], [table[-1] for table in tables]

    def _share_of_nothing(self, tests: Sequence[Sequence[str]], found: list[Array]) -> None:
        """Moves the worlds where nothing was wrong at first to what a repair brought in."""
        lanes = self._among_brought({c: self.present[c] for c in self.changes.brought}, tests)
        for table, shares in zip(found, lanes, strict=True):
            for item, weight in shares.items():
                table[self._place[item]] += weight
                table[-1] -= weight
            table[-1] = np.maximum(table[-1], 0.0)

    def _share_of_cured(self, tests: Sequence[Sequence[str]], found: list[Array]) -> None:
        """Adds the worlds where the initiating cause was cured."""
        sound = {node: np.eye(self._cards[node])[0] for node in self.present.values()}
        none = self._total({**self._cured, **sound}, tests)
        for table, shares, nothing in zip(found, self._among_cured(self.present, tests), none, strict=True):
            table[-1] += nothing
            for item, weight in shares.items():
                table[self._place[item]] += weight

    def _among_cured(self, targets: Mapping[str, str], tests: Sequence[Sequence[str]]) -> list[dict[str, Array]]:
        """P(target, share of it among all that is there, outcome, e) with the initiating cause cured, by item."""
        return self._shares(self._cured, tuple(self.present.values()), targets, tests, 1.0)

    def _among_brought(self, targets: Mapping[str, str], tests: Sequence[Sequence[str]]) -> list[dict[str, Array]]:
        """The same with nothing wrong at first, among what a repair brought in; other targets are left out."""
        brought = {item: node for item, node in targets.items() if item in self.changes.brought}
        among = tuple(self.present[c] for c in self.changes.brought)
        return self._shares({}, among, brought, tests, float(self._lane[-1]))

    def _shares(
        self,
        evidence: Mapping[str, Array],
        among: Sequence[str],
        targets: Mapping[str, str],
        tests: Sequence[Sequence[str]],
        weight: float,
    ) -> list[dict[str, Array]]:
        """The integral over x of E[1_target x^(n - 1)], n counting the nodes ``among`` that are not sound."""
        if not targets:
            return [{} for _ in tests]
        nodes = list(targets.values())
        rows = not_sound([self._cards[node] for node in nodes])
        total: list[Array] | None = None
        for x, share in zip(*rule(), strict=True):
            told = {node: np.array([1.0] + [x] * (self._cards[node] - 1)) for node in among}
            tables = self._inference({**evidence, **told}).weigh_with(nodes, tests, rows * (weight * share / x))
            total = tables if total is None else [a + b for a, b in zip(total, tables, strict=True)]
        assert total is not None
        return [dict(zip(targets, table, strict=True)) for table in total]

    def _total(self, evidence: Mapping[str, Array], tests: Sequence[Sequence[str]]) -> list[Array]:
        """P(outcome, e, evidence) of each test."""
        node = next(iter(self.network))
        rows = np.ones((1, self._cards[node]))
        return [table[0] for table in self._inference(evidence).weigh_with([node], tests, rows)]

    def _inference(self, evidence: Mapping[str, Array]) -> Inference:
        likelihood = dict(self.case.likelihood)
        for node, told in evidence.items():
            likelihood[node] = likelihood.get(node, 1.0) * told
        return Inference(self.network, likelihood, self._limit)

    @cached_property
    def network(self) -> Network:
        """The fault network, and what tells which cause was cured, is there still, or was brought in."""
        nodes = [*self.case.faults.values()]
        nodes += [_both(f"{c}~still", c, self.present[c], (1, 1)) for c in self.changes.repaired]
        nodes += [_both(f"{c}~brought", c, self.present[c], (0, 1)) for c in self.changes.brought]
        if self.changes.repaired:
            repaired = self.changes.repaired
            nodes.append(Node(CURED, repaired, (), Table(np.full(len(repaired), 1.0 / len(repaired)))))
            nodes += [_cured(c, k, len(repaired), self.present[c]) for k, c in enumerate(repaired)]
        return Network(nodes)

    @cached_property
    def _cards(self) -> dict[str, int]:
        return {node: self.network.card(node) for node in self.network}

    @cached_property
    def _cured(self) -> dict[str, Array]:
        """Evidence that the initiating cause is one of the repaired, and cured; each weighed as its own lane."""
        repaired = self.changes.repaired
        places = [self.case.causes.index(c) for c in repaired]
        lanes = self._lane[places] / self.case.coexistence[places] * len(repaired)
        return {CURED: lanes, **{f"{c}{CURED}": np.array([0.0, 1.0]) for c in repaired}}


def rule() -> tuple[list[float], list[float]]:
    """Points and weights of Gauss and Legendre on 0 to 1."""
    points, weights = np.polynomial.legendre.leggauss(POINTS)
    return ((points + 1) / 2).tolist(), (weights / 2).tolist()


def not_sound(cards: Sequence[int]) -> Array:
    """Shape (nodes, states of all nodes): a row sums the states of a node but its first."""
    rows = np.zeros((len(cards), sum(cards)))
    start = 0
    for row, card in enumerate(cards):
        rows[row, start + 1 : start + card] = 1.0
        start += card
    return rows


def _both(name: str, then: str, now: str, states: tuple[int, int]) -> Node:
    """A node that is yes where a fault was in the one state at first and is in the other now."""
    if then == now:
        table = np.array([[1.0, 0.0], [0.0, 1.0]]) if states == (1, 1) else np.array([[1.0, 0.0], [1.0, 0.0]])
        return Node(name, YES_NO, (then,), Table(table))
    table = np.zeros((2, 2, 2))
    table[..., 0] = 1.0
    table[states] = [0.0, 1.0]
    return Node(name, YES_NO, (then, now), Table(table))


def _cured(cause: str, own: int, repaired: int, now: str) -> Node:
    """Yes unless the initiating cause is this one and it is not cured: there at first, gone now."""
    table = np.zeros((repaired, 2, 2, 2))
    table[..., 1] = 1.0
    table[own] = [1.0, 0.0]
    table[own, 1, 0] = [0.0, 1.0]
    return Node(f"{cause}{CURED}", YES_NO, (CURED, cause, now), Table(table))


def _add(told: dict[str, float], why: str, weight: float) -> None:
    told[why] = told.get(why, 0.0) + weight
