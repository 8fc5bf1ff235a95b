"""An independent judge: the same tables in pyAgrum, built through its programming interface."""

import warnings
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from oracle.enumeration import mutual_information

with warnings.catch_warnings():
    # Types made by SWIG lack a module name; as an error the warning would end the interpreter.
    warnings.filterwarnings("ignore", r"builtin type .* has no __module__ attribute", DeprecationWarning)
    import pyagrum

# A node: its name, its parents, and its table, axes parents in order, then the node.
Tabled = tuple[str, Sequence[str], np.ndarray]


def bayes_net(nodes: Iterable[Tabled]) -> pyagrum.BayesNet:
    """The network; states are numbered, so that no label can be misread."""
    nodes = list(nodes)
    net = pyagrum.BayesNet()
    for name, _, table in nodes:
        net.add(pyagrum.LabelizedVariable(name, name, table.shape[-1]))
    for name, parents, table in nodes:
        for parent in parents:
            net.addArc(parent, name)
        axes = (*parents, name)
        cpt = net.cpt(name)
        cpt[:] = np.ascontiguousarray(table.transpose([axes.index(axis) for axis in cpt.names[::-1]]))
    return net


class Agrum:
    """A network under evidence, asked by lazy propagation. told: {node: state's number or likelihoods}."""

    def __init__(self, net: pyagrum.BayesNet, told: Mapping[str, "int | Sequence[float]"]) -> None:
        self.net = net
        self.told = {node: said if isinstance(said, int) else list(said) for node, said in told.items()}
        self.engine = self._engine()

    def _engine(self) -> pyagrum.LazyPropagation:
        engine = pyagrum.LazyPropagation(self.net)
        engine.setEvidence(self.told)
        return engine

    def probability_of_evidence(self) -> float:
        return self.engine.evidenceProbability()

    def posterior(self, node: str) -> np.ndarray:
        return self.engine.posterior(node).toarray()

    def joint(self, nodes: Sequence[str]) -> np.ndarray:
        """P(nodes | e), one axis a node in the order given. An engine that is asked a second joint may lose nodes
        (pyAgrum 3.3.1: "no element with the key"), so each has a new one.
        """
        engine = self._engine()
        engine.setTargets(set())
        engine.addJointTarget(set(nodes))
        tensor = engine.jointPosterior(set(nodes))
        found = tensor.names[::-1]
        return tensor.toarray().transpose([found.index(node) for node in nodes])

    def gain(self, test: Sequence[str], target: str) -> float:
        joint = self.joint([target, *test])
        return mutual_information(dict(np.ndenumerate(joint.reshape(joint.shape[0], -1))))
