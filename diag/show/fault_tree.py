"""A fault tree from a file, worked out."""

from __future__ import annotations

from typing import Any

from diag.explain.fault_tree import Analysis, FaultTree
from diag.explain.fault_tree.branches import Branch, Fold, grow
from diag.explain.fault_tree.nodes import TreeNodes
from diag.show.as_json import plain
from diag.show.branches import Heading, add_branches, branch_data
from diag.show.importance import add_importance
from diag.show.page import Page

SETS = 10


def fault_tree_data(tree: FaultTree, found: Analysis, fold: Fold) -> dict[str, Any]:
    """The fields of ``diag tree --from FILE --json``."""
    sets = found.cut_sets
    return {
        "id": tree.top,
        "name": tree.name(tree.top),
        "title": tree.title,
        "source": tree.source,
        "probability": found.probability,
        "cut_sets": [{"causes": list(s.events), "probability": s.probability} for s in sets.likeliest] if sets else [],
        "cut_sets_left_out": sets.left_out if sets else None,
        "left_out_sum": sets.left_out_sum if sets else None,
        "rare_event_sum": sets.rare_event_sum if sets else None,
        "importance": plain(found.importance),
        "tree": branch_data(fault_tree_branch(tree, fold)),
        "cannot": list(found.cannot),
    }


def fault_tree_page(tree: FaultTree, found: Analysis, fold: Fold, numbers: bool) -> Page:
    """The tree in words and figures: its numbers are the file's own, so they are shown as they are."""
    page = Page()
    heading = fault_tree_heading(tree, found)
    page.title(heading.title)
    if tree.source:
        page.say(f"Source: {tree.source}")
    page.say(heading.note)
    page.blank()
    add_branches(page, fault_tree_branch(tree, fold), fold, heading, numbers)
    _add_sets(page, found)
    if numbers:
        add_importance(page, found.importance, tree.name)
    for sentence in found.cannot:
        page.say(sentence)
    return page


def fault_tree_heading(tree: FaultTree, found: Analysis) -> Heading:
    """What stands over the tree."""
    title = f"{tree.title or 'Fault tree'}: {tree.name(tree.top)}"
    return Heading(title, f"Probability of {tree.top}: {found.probability:.6g}", ("probability",), "{:.4g}".format)


def fault_tree_branch(tree: FaultTree, fold: Fold) -> Branch:
    """The tree as people see it. Raises TreeTooLarge."""
    nodes = TreeNodes(tree)
    return grow(nodes.top, nodes.inputs, fold)


def _add_sets(page: Page, found: Analysis) -> None:
    if found.cut_sets is None:
        return
    page.title("Minimal cut sets, the most probable first")
    shown = found.cut_sets.likeliest[:SETS]
    for place, one in enumerate(shown, start=1):
        page.say(f"{', '.join(one.events)}: {one.probability:.4g}", 1, f"{place}.")
    rest = len(found.cut_sets.likeliest) - len(shown) + found.cut_sets.left_out
    if rest:
        page.say(f"{rest} more, less probable ones: --json lists the first hundred.", 1)
    page.say(f"Sum over all of them (rare-event approximation): {found.cut_sets.rare_event_sum:.6g}", 1)
