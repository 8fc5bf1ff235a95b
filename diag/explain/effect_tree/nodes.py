"""The nodes of an effect's tree, and what brings each about, for the tree as people see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from diag.explain.effect_tree.answer import EffectTree
from diag.explain.effect_tree.noisy import LEAK, beyond, link_id
from diag.explain.fault_tree.branches import Node
from diag.knowledge.types import Knowledge
from diag.network.children import Parent, parents_of


@dataclass(frozen=True, eq=False)
class Nodes:
    """Nodes of one tree. knowledge: the base as it is written, links not split."""

    tree: EffectTree
    knowledge: Knowledge

    @property
    def top(self) -> Node:
        """The effect itself."""
        return self._effect(self.tree.effect, self.tree.degree)

    def inputs(self, node: Node) -> Sequence[tuple[Node, float]]:
        """What brings an effect about, each with the probability that it did, given the top."""
        effect, degree = node.id, self._degrees[node.key]
        found = []
        for parent in self._parents.get(effect, ()):
            least = self._least(parent, effect, degree)
            if least and parent.id in self.tree.above:
                found.append((self._node(parent.id, least), self._passed(parent.id, effect, degree)))
        return [*found, *self._leak(effect, degree)]

    @cached_property
    def _parents(self) -> dict[str, list[Parent]]:
        return parents_of(self.knowledge)

    @cached_property
    def _degrees(self) -> dict[str, int]:
        """The degree of every effect's node, by its key."""
        effects = self.knowledge.effects.values()
        return {_key(effect.id, d): d for effect in effects for d in range(1, len(effect.states))}

    def _least(self, parent: Parent, effect: str, degree: int) -> int:
        """The least state of the parent that can bring the effect to this degree; 0 where none can."""
        states = self.knowledge.effects[effect].states
        reach = (beyond(parent.strengths.get(state, {}), states, degree) for state in parent.states)
        return next((place for place, chance in enumerate(reach) if chance > 0), 0)

    def _node(self, id: str, degree: int) -> Node:
        if id in self.knowledge.effects:
            return self._effect(id, degree)
        cause = self.knowledge.causes.get(id)
        return Node(
            id, id, cause.name if cause else "a cause of this that is not listed", "cause", *self._chances(id, 1)
        )

    def _effect(self, id: str, degree: int) -> Node:
        effect = self.knowledge.effects[id]
        last = len(effect.states) - 1
        word = effect.states[degree].replace("_", " ")
        return Node(
            key=_key(id, degree),
            id=id,
            name=effect.name,
            kind="effect",
            prior=self._chances(id, degree)[0],
            probability=self._chances(id, degree)[1],
            state="" if last == 1 else word if degree == last else f"{word} or worse",
            gate=effect.gate,
            k=effect.k,
            stopped_by=tuple(self.knowledge.effects[other].name for other in effect.inhibited_by),
        )

    def _leak(self, effect: str, degree: int) -> list[tuple[Node, float]]:
        entry = self.knowledge.effects[effect]
        leak = link_id(LEAK, effect)
        if leak not in self.tree.knowledge.effects or not beyond(entry.leak, entry.states, degree) > 0:
            return []
        node = Node(leak, leak, "no fault at all behind it", "background", *self._chances(leak, degree))
        return [(node, self._given_top(leak, degree))]

    def _passed(self, parent: str, effect: str, degree: int) -> float:
        """P(the link from the parent fired | top); of a cause not listed, P(it is there | top)."""
        link = link_id(parent, effect)
        return self._given_top(link, degree) if link in self.tree.knowledge.effects else self._given_top(parent, 1)

    def _given_top(self, id: str, degree: int) -> float:
        known = self.tree.with_effect
        return self.tree.at_least(known, id, degree) if known else 0.0

    def _chances(self, id: str, degree: int) -> tuple[float, float]:
        return self.tree.at_least(self.tree.before, id, degree), self.tree.at_least(self.tree.now, id, degree)


def _key(id: str, degree: int) -> str:
    return id if degree == 1 else f"{id}#{degree}"
