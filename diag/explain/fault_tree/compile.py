"""A fault tree as a binary decision diagram: the order of its events, and the function of its top."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diag.explain.fault_tree.diagram import NODE_LIMIT, Diagram
from diag.explain.fault_tree.tree import FaultTree, TreeGate


@dataclass(frozen=True, eq=False)
class Function:
    """The top of a tree as a function of its basic events; ``order`` are their ids by level."""

    diagram: Diagram
    root: int
    order: tuple[str, ...]


def compile_tree(tree: FaultTree, limit: int = NODE_LIMIT, fixed: Mapping[str, bool] | None = None) -> Function:
    """Build the diagram of the top, gate by gate from below; ``fixed`` gates and events are taken as told.

    Raises TreeTooLarge.
    """
    return compile_all(tree, limit, fixed)[tree.top]


def compile_all(
    tree: FaultTree, limit: int = NODE_LIMIT, fixed: Mapping[str, bool] | None = None
) -> dict[str, Function]:
    """The functions of the top and of everything below it, in one diagram. Raises TreeTooLarge."""
    order = _order(tree)
    diagram = Diagram(limit=limit)
    roots = {id: diagram.node(level, 0, 1) for level, id in enumerate(order)}
    for id in tree.below:
        if fixed and id in fixed:
            roots[id] = int(fixed[id])
        elif id in tree.gates:
            roots[id] = _gate(diagram, tree.gates[id], [roots[other] for other in tree.gates[id].inputs])
    return {id: Function(diagram, root, order) for id, root in roots.items()}


def _gate(diagram: Diagram, gate: TreeGate, inputs: list[int]) -> int:
    if gate.kind == "not":
        return diagram.choose(inputs[0], 0, 1)
    needed = {"or": 1, "k_of_n": gate.k}.get(gate.kind, len(inputs))
    return diagram.at_least(needed, inputs)


def _order(tree: FaultTree) -> tuple[str, ...]:
    """Basic events depth first from the top, small branches first: what meets in a gate lies close together."""
    size: dict[str, int] = {}
    for id in tree.below:
        size[id] = 1 + sum(size[other] for other in tree.gates[id].inputs) if id in tree.gates else 1
    ordered: dict[str, None] = {}
    seen: set[str] = set()
    stack = [tree.top]
    while stack:
        id = stack.pop()
        if id in seen:
            continue
        seen.add(id)
        if id in tree.events:
            ordered[id] = None
        else:
            stack += sorted(tree.gates[id].inputs, key=size.__getitem__, reverse=True)
    return tuple(ordered)
