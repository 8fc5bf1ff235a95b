"""Fault trees: exact probability, minimal cut sets and importance by binary decision diagrams; trees from files."""

from diag.explain.fault_tree.analysis import Analysis, Importance, analyse_tree
from diag.explain.fault_tree.cut_sets import CutSet, CutSets
from diag.explain.fault_tree.diagram import TreeTooLarge
from diag.explain.fault_tree.read import read_tree
from diag.explain.fault_tree.tree import BasicEvent, FaultTree, FaultTreeError, TreeGate

__all__ = [
    "Analysis",
    "BasicEvent",
    "CutSet",
    "CutSets",
    "FaultTree",
    "FaultTreeError",
    "Importance",
    "TreeGate",
    "TreeTooLarge",
    "analyse_tree",
    "read_tree",
]
