"""The fault tree of an effect of the knowledge base: links that may fail to fire, and what a case makes of it all."""

from diag.explain.effect_tree.answer import EffectTree, effect_tree
from diag.explain.effect_tree.nodes import Nodes
from diag.explain.effect_tree.noisy import noisy_tree
from diag.explain.effect_tree.sufficient import CauseSet

__all__ = ["CauseSet", "EffectTree", "Nodes", "effect_tree", "noisy_tree"]
