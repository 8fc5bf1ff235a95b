"""Full ranking of all tests: how long, beside pyAgrum and pgmpy on the same work.

Run: python tests/benchmarks/ranking.py --rivals

Figures are of one run on one machine; ratios within the run are what counts. Nothing here is asserted, but the
largest difference between the engines is printed.

The generated base is dense where knowledge is dense: findings with three parents, effects with five, tests that show
up to three findings. Parents come from the same subsystem or the one before it, as in a machine; ``--scattered``
draws them from the whole base instead, which no machine does, and which is far harder for every exact method.
"""

from __future__ import annotations

import argparse
import os
import platform
import time
from importlib.metadata import version

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

import numpy as np  # noqa: E402

from diag.network.gates import noisy_or  # noqa: E402
from diag.network.inference import Inference  # noqa: E402
from diag.network.information import expected_information_gain  # noqa: E402
from diag.network.model import Network, Node, Table  # noqa: E402

YES_NO = ("no", "yes")
CAUSES, EFFECTS, FINDINGS, TESTS, RECORDED, SUBSYSTEMS = 60, 30, 90, 40, 10, 6
COEXISTENCE = 0.12


class Base:
    """A generated knowledge base: the fault network, tests, evidence."""

    def __init__(self, size: int, seed: int = 0, scattered: bool = False) -> None:
        self.rng = np.random.default_rng(seed)
        self.subsystems = 1 if scattered else SUBSYSTEMS * size
        scale = SUBSYSTEMS * size if scattered else 1
        per = [n // SUBSYSTEMS * scale for n in (CAUSES, EFFECTS, FINDINGS)]
        self.causes = self._names("c", per[0])
        self.effects = self._names("e", per[1])
        self.findings = self._names("f", per[2])
        self.targets = [c for own in self.causes for c in own]
        q = COEXISTENCE / len(self.targets)
        self.nodes = [Node(c, YES_NO, (), Table(np.array([1 - q, q]))) for c in self.targets]
        for s in range(self.subsystems):
            self._add_effects(s)
        for s in range(self.subsystems):
            for finding in self.findings[s]:
                self._add(finding, [*self._pick(self.effects, s, 2), *self._pick(self.causes, s, 1)], 0.03)
        self.network = Network(self.nodes)
        shown = self.rng.permutation([f for own in self.findings for f in own]).tolist()
        self.evidence = {f: "yes" if i % 3 == 0 else "no" for i, f in enumerate(shown[:RECORDED])}
        self.tests = [self._test(i) for i in range(TESTS * size)]

    def _names(self, letter: str, count: int) -> list[list[str]]:
        return [[f"{letter}{s}_{i}" for i in range(count)] for s in range(self.subsystems)]

    def _pick(self, pool: list[list[str]], subsystem: int, count: int) -> list[str]:
        near = [*pool[subsystem], *(pool[subsystem - 1] if subsystem else [])]
        weights = np.array([4.0] * len(pool[subsystem]) + [1.0] * (len(near) - len(pool[subsystem])))
        return self.rng.choice(near, count, replace=False, p=weights / weights.sum()).tolist()

    def _add_effects(self, s: int) -> None:
        for i, effect in enumerate(self.effects[s]):
            above = self.effects[s][:i] if i >= 2 else self.effects[max(s - 1, 0)][: i if s == 0 else None]
            chosen = self.rng.choice(above, min(2, len(above)), replace=False).tolist() if above else []
            self._add(effect, [*self._pick(self.causes, s, 3), *chosen], 0.01)

    def _add(self, node: str, parents: list[str], leak: float) -> None:
        strengths = self.rng.uniform(0.3, 0.9, len(parents)).tolist()
        self.nodes.append(Node(node, YES_NO, tuple(parents), noisy_or(strengths, leak)))

    def _test(self, number: int) -> tuple[str, ...]:
        open_findings = [f for f in self.findings[number % self.subsystems] if f not in self.evidence]
        return tuple(self.rng.choice(open_findings, 1 + number % 3, replace=False).tolist())

    def full_network(self) -> Network:
        """With the initiating cause as a node, for other engines."""
        n, q = len(self.targets), COEXISTENCE / len(self.targets)
        nodes = [Node("initiating_cause", tuple(self.targets), (), Table(np.full(n, 1 / n)))]
        for i, cause in enumerate(self.targets):
            yes = np.full(n, q)
            yes[i] = 1.0
            nodes.append(Node(cause, YES_NO, ("initiating_cause",), Table(np.stack([1 - yes, yes], 1))))
        return Network([*nodes, *self.nodes[n:]])


def ours(base: Base) -> list[float]:
    """Gain of every test about the initiating cause."""
    inference = Inference(base.network, base.evidence)
    n = len(base.targets)
    rows = np.zeros((n, 2 * n))
    rows[np.arange(n), 2 * np.arange(n) + 1] = 1.0
    tables = inference.weigh_with(base.targets, base.tests, rows)
    return [expected_information_gain(table / table.sum()) for table in tables]


def pyagrum_engine(base: Base) -> object:
    """Lazy propagation with joint targets of cause and test, compiled once."""
    import pyagrum

    network = base.full_network()
    other = pyagrum.BayesNet()
    for node in network.values():
        other.add(pyagrum.LabelizedVariable(node.id, node.id, list(node.states)))
    for node in network.values():
        for parent in node.parents:
            other.addArc(parent, node.id)
        if node.parents:
            _fill(other, network, node)
        else:
            other.cpt(node.id).fillWith(network.table(node.id).tolist())
    engine = pyagrum.LazyPropagation(other)
    engine.setNumberOfThreads(1)
    engine.setEvidence(base.evidence)
    for test in base.tests:
        engine.addJointTarget({"initiating_cause", *test})
    return engine


def _fill(other: object, network: Network, node: Node) -> None:
    import itertools

    table = network.table(node.id)
    for states in itertools.product(*(range(n) for n in table.shape[:-1])):
        other.cpt(node.id)[dict(zip(node.parents, states, strict=True))] = table[states].tolist()  # type: ignore[attr-defined]


def pyagrum_gains(base: Base, engine: object) -> list[float]:
    """Evidence set anew, so that nothing is taken from the run before."""
    engine.setEvidence(base.evidence)  # type: ignore[attr-defined]
    engine.makeInference()  # type: ignore[attr-defined]
    found = []
    for test in base.tests:
        joint = engine.jointPosterior({"initiating_cause", *test})  # type: ignore[attr-defined]
        names = list(joint.names)
        table = np.moveaxis(joint.toarray(), list(reversed(names)).index("initiating_cause"), 0)
        found.append(expected_information_gain(table))
    return found


def pgmpy_gains(base: Base, most: int) -> list[float]:
    """Variable elimination, the first ``most`` tests only."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

    network = base.full_network()
    model = DiscreteBayesianNetwork([(p, node.id) for node in network.values() for p in node.parents])
    for node in network.values():
        table = np.moveaxis(network.table(node.id), -1, 0).reshape(len(node.states), -1)
        cards = [network.card(p) for p in node.parents]
        names = {n: list(network[n].states) for n in (node.id, *node.parents)}
        model.add_cpds(TabularCPD(node.id, len(node.states), table, list(node.parents), cards, state_names=names))
    engine = VariableElimination(model)
    found = []
    for test in base.tests[:most]:
        joint = engine.query(["initiating_cause", *test], evidence=base.evidence, show_progress=False)
        found.append(expected_information_gain(np.moveaxis(joint.values, joint.variables.index("initiating_cause"), 0)))
    return found


def timed(work: object, runs: int) -> tuple[float, list[float]]:
    """Median seconds of some runs after a warm-up, and the answer."""
    answer = work()  # type: ignore[operator]
    seconds = []
    for _ in range(runs):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        seconds.append(time.perf_counter() - start)
    return sorted(seconds)[runs // 2], answer


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--scattered", action="store_true", help="parents from the whole base")
    asked.add_argument("--sizes", default="1,2,4,8", help="sizes of the base, in units of 60 causes")
    asked.add_argument("--rivals", action="store_true", help="pyAgrum and pgmpy on size 1 too (minutes)")
    options = asked.parse_args()
    print(f"python {platform.python_version()}, numpy {version('numpy')}, one thread")
    for size in map(int, options.sizes.split(",")):
        base = Base(size, scattered=options.scattered)
        seconds, gains = timed(lambda base=base: ours(base), 5)
        tree = Inference(base.network, base.evidence)._propagation(base.targets).tree
        nodes, tests = len(base.network), len(base.tests)
        print(f"size {size}: {nodes} nodes, {tests} tests, largest clique {tree.largest}: {1000 * seconds:.0f} ms")
        if options.rivals and size == 1:
            _beside(base, seconds, gains)


def _beside(base: Base, seconds: float, gains: list[float]) -> None:
    """pyAgrum on all tests, pgmpy on a few at its pace."""
    engine = pyagrum_engine(base)
    other, theirs = timed(lambda: pyagrum_gains(base, engine), 3)
    worst = max(abs(a - b) for a, b in zip(gains, theirs, strict=True))
    print(f"  pyagrum {version('pyagrum')}: {1000 * other:.0f} ms, {other / seconds:.1f} times, differs by {worst:.1e}")
    few = 4
    other, theirs = timed(lambda: pgmpy_gains(base, few), 1)
    worst = max(abs(a - b) for a, b in zip(gains, theirs, strict=False))
    whole = other * len(base.tests) / few
    print(f"  pgmpy {version('pgmpy')}: {1000 * whole:.0f} ms at the pace of {few} tests, ", end="")
    print(f"{whole / seconds:.0f} times, differs by {worst:.1e}")


if __name__ == "__main__":
    main()
