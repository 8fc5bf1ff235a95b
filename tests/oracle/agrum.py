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
        self.engine = pyagrum.LazyPropagation(net)
        self.engine.setEvidence({n: said if isinstance(said, int) else list(said) for n, said in told.items()})

    def probability_of_evidence(self) -> float:
        return self.engine.evidenceProbability()

    def posterior(self, node: str) -> np.ndarray:
        return self.engine.posterior(node).toarray()

    def joint(self, nodes: Sequence[str]) -> np.ndarray:
        """P(nodes | e), one axis a node in the order given."""
        self.engine.addJointTarget(set(nodes))
        tensor = self.engine.jointPosterior(set(nodes))
        self.engine.eraseJointTarget(set(nodes))
        found = tensor.names[::-1]
        return tensor.toarray().transpose([found.index(node) for node in nodes])

    def gain(self, test: Sequence[str], target: str) -> float:
        joint = self.joint([target, *test])
        return mutual_information(dict(np.ndenumerate(joint.reshape(joint.shape[0], -1))))
