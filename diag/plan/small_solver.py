"""The cheapest plan for a small problem: dynamic programming over an AND/OR graph, with lower bounds.

A state is what every test showed, which repairs failed, which access steps hold. Its value is expected cost times
the probability of getting there, so nothing is divided. ``depth`` free steps are looked ahead; what comes after
follows the one-step rule (gain per cost to find; Heckerman's comparison of the best repair with each test to
mend). The answer is ``proved`` only where every choice was compared exactly.

References
----------
Pattipati and Alexandridis 1990, IEEE Trans. SMC 20 (AND/OR search, lower bounds).
Heckerman, Breese and Rommelse 1995, CACM 38(3) (the one-step rule).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from math import inf, log2

from diag.plan.small_problem import SmallProblem, Weights

END = "end"
NODE_LIMIT = 400_000  # states looked at before the rest is left to the one-step rule
SAME = 1e-12


@dataclass(frozen=True)
class SmallPlan:
    """What to do, what it costs (access included), and the plan after each result; ``act`` empty: done.

    ``probability`` of getting here; ``expected_cost`` from here on.
    """

    act: str
    kind: str
    cost: float
    probability: float
    expected_cost: float
    steps: tuple[str, ...] = ()
    then: dict[str, SmallPlan] = field(default_factory=dict)


@dataclass(frozen=True)
class SmallAnswer:
    """``proved``: no plan is cheaper. ``lower_bound``: what no plan can beat. ``depth`` None: to the end."""

    expected_cost: float
    proved: bool
    lower_bound: float
    depth: int | None
    plan: SmallPlan


@dataclass(frozen=True, slots=True)
class _State:
    weights: Weights
    shown: tuple[tuple[str, str], ...] = ()
    failed: frozenset[str] = frozenset()
    held: frozenset[str] = frozenset()

    @property
    def key(self) -> tuple[frozenset[tuple[str, str]], frozenset[str], frozenset[str]]:
        return frozenset(self.shown), self.failed, self.held


@dataclass(frozen=True, slots=True)
class _Act:
    """One choice: what it costs here, the states after each result (mended and found ones left out)."""

    name: str
    kind: str
    cost: float
    steps: tuple[str, ...]
    after: tuple[tuple[str, _State], ...]


def solve(problem: SmallProblem, depth: int | None = None, limit: int = NODE_LIMIT) -> SmallAnswer:
    """The cheapest plan. ``depth`` from 1: steps looked ahead; None: all of them. At most ``limit`` states."""
    search = _Search(problem, limit)
    start = _State(tuple(problem.causes.values()))
    value = search.value(start, depth)
    proved = not search.cut
    plan = search.plan(start, depth)
    return SmallAnswer(value, proved, value if proved else search.bound(start), depth, plan)


class _Search:
    """Keeps the value and the best act of every state met. ``cut``: some choice was not compared exactly."""

    def __init__(self, problem: SmallProblem, limit: int) -> None:
        self.problem = problem
        self.limit = limit
        self.cut = False
        self.known: dict[object, tuple[float, _Act | None]] = {}

    def value(self, state: _State, depth: int | None) -> float:
        return self.best(state, depth)[0]

    def best(self, state: _State, depth: int | None) -> tuple[float, _Act | None]:
        """Expected cost from here on, times the probability of being here, and what to do."""
        key = (state.key, depth)
        if key not in self.known:
            acts = list(self.acts(state))
            self.known[key] = self._choose(state, acts, depth) if acts else (self._stuck(state), None)
        return self.known[key]

    def _choose(self, state: _State, acts: list[_Act], depth: int | None) -> tuple[float, _Act | None]:
        if len(acts) > 1 and (depth == 1 or len(self.known) > self.limit):
            self.cut = True
            act = self.one_step(state, acts)
            return self._follow(state, act, depth), act
        best: tuple[float, _Act | None] = (inf, None)
        total = sum(state.weights)
        bounds = [act.cost * total + sum(self.bound(after) for _, after in act.after) for act in acts]
        for bound, _, act in sorted(zip(bounds, range(len(acts)), acts, strict=True), key=lambda told: told[:2]):
            if bound >= best[0] - SAME * total:
                break
            value = self._follow(state, act, depth if depth in (None, 1) else depth - 1)
            if value < best[0]:
                best = (value, act)
        return best

    def _follow(self, state: _State, act: _Act, depth: int | None) -> float:
        return act.cost * sum(state.weights) + sum(self.value(after, depth) for _, after in act.after)

    def _stuck(self, state: _State) -> float:
        """Nothing is left to do: found, or (to mend) nothing there any more."""
        return inf if self.problem.aim == "mend" and sum(state.weights) > 0 else 0.0

    def acts(self, state: _State) -> Iterator[_Act]:
        """What can be done here and may change something."""
        if sum(state.weights) > 0:
            yield from self._tests(state)
            if self.problem.aim == "mend":
                yield from self._repairs(state)
                if self.problem.ending is not None:
                    yield _Act(END, "end", self.problem.ending, (), ())

    def _tests(self, state: _State) -> Iterator[_Act]:
        done = {name for name, _ in state.shown}
        for name, test in self.problem.tests.items():
            if name in done or not _tells(state.weights, test.results.values()):
                continue
            steps, way, held = self._way(test.access, state.held)
            after = []
            for result, chances in test.results.items():
                weights = tuple(w * p for w, p in zip(state.weights, chances, strict=True))
                if any(weights):
                    after.append((result, _State(weights, (*state.shown, (name, result)), state.failed, held)))
            yield _Act(name, "test", test.cost + way, steps, tuple(after))

    def _repairs(self, state: _State) -> Iterator[_Act]:
        for name, repair in self.problem.repairs.items():
            if name in state.failed or not any(w * p for w, p in zip(state.weights, repair.mends, strict=True)):
                continue
            steps, way, held = self._way(repair.access, state.held)
            weights = tuple(w * (1 - p) for w, p in zip(state.weights, repair.mends, strict=True))
            failed = _State(weights, state.shown, state.failed | {name}, held)
            yield _Act(name, "repair", repair.cost + way, steps, (("failed", failed),) if any(weights) else ())

    def _way(self, wanted: tuple[str, ...], held: frozenset[str]) -> tuple[tuple[str, ...], float, frozenset[str]]:
        """Steps still to do, their cost with putting back, and what holds then."""
        steps: list[str] = []

        def add(step: str) -> None:
            if step not in held and step not in steps:
                for needed in self.problem.access[step].needs:
                    add(needed)
                steps.append(step)

        for step in wanted:
            add(step)
        cost = sum(self.problem.access[step].cost + self.problem.access[step].undo for step in steps)
        return tuple(steps), cost, held | set(steps)

    def bound(self, state: _State) -> float:
        """What no plan can beat from here, times the probability of being here.

        To mend: every cause needs a repair that can mend it, or the ending. To find: one more test at least
        while some test tells.
        """
        if self.problem.aim == "find":
            done = {name for name, _ in state.shown}
            open_tests = (t for name, t in self.problem.tests.items() if name not in done)
            costs = [t.cost for t in open_tests if _tells(state.weights, t.results.values())]
            return min(costs, default=0.0) * sum(state.weights)
        return sum(weight * self._least(i) for i, weight in enumerate(state.weights) if weight > 0)

    def _least(self, cause: int) -> float:
        costs = [repair.cost for repair in self.problem.repairs.values() if repair.mends[cause] > 0]
        return min([*costs, *([] if self.problem.ending is None else [self.problem.ending])], default=inf)

    def one_step(self, state: _State, acts: list[_Act]) -> _Act:
        """What looking one step ahead would do."""
        if self.problem.aim == "find":
            return max(acts, key=lambda act: _per_cost(_gain(state, act), act.cost))
        best = self._best_repair(state)
        now, choice = self.repair_cost(state), best
        for act in acts:
            if act.kind == "test":
                then = act.cost * sum(state.weights) + sum(self.repair_cost(after) for _, after in act.after)
                if then < now - SAME:
                    now, choice = then, act
        return choice

    def _best_repair(self, state: _State) -> _Act:
        """The likeliest to mend per cost, or the ending where that beats it."""
        repairs = list(self._repairs(state))
        total = sum(state.weights)
        best = max(repairs, key=lambda act: _per_cost(total - _left(act), act.cost), default=None)
        ending = self.problem.ending
        if best is None or (ending is not None and best.cost * total >= (total - _left(best)) * ending):
            return _Act(END, "end", inf if ending is None else ending, (), ())
        return best

    def repair_cost(self, state: _State) -> float:
        """Expected cost of repairs alone, the likeliest per cost first, times the probability of being here."""
        if not sum(state.weights) > 0:
            return 0.0
        best = self._best_repair(state)
        return best.cost * sum(state.weights) + sum(self.repair_cost(after) for _, after in best.after)

    def plan(self, state: _State, depth: int | None) -> SmallPlan:
        """The plan that ``value`` is the cost of."""
        value, act = self.best(state, depth)
        total = sum(state.weights)
        mean = value / total if total > 0 else 0.0
        if act is None:
            return SmallPlan("", "done", 0.0, total, mean)
        below = depth if depth in (None, 1) else depth - 1
        then = {result: self.plan(after, below) for result, after in act.after}
        return SmallPlan(act.name, act.kind, act.cost, total, mean, act.steps, then)


def _tells(weights: Weights, results: Collection[Weights]) -> bool:
    """Whether a test can still part the causes that are left."""
    left = [i for i, weight in enumerate(weights) if weight > 0]
    return any(abs(chances[i] - chances[left[0]]) > SAME for chances in results for i in left)


def _left(act: _Act) -> float:
    return sum(sum(after.weights) for _, after in act.after)


def _per_cost(good: float, cost: float) -> float:
    return good / cost if cost > 0 else inf if good > 0 else 0.0


def _gain(state: _State, act: _Act) -> float:
    """Expected information gain, in bits, times the probability of being here."""
    return _spread(state.weights) - sum(_spread(after.weights) for _, after in act.after)


def _spread(weights: Weights) -> float:
    total = sum(weights)
    return -sum(w * log2(w / total) for w in weights if w > 0)
