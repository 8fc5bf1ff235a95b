"""The fault tree of an effect: what can bring it about, how likely each of it is, and what matters most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.explain.effect_tree import CauseSet, EffectTree, Nodes
from diag.explain.fault_tree.branches import Branch, Fold, grow, likely_path
from diag.knowledge.types import Knowledge
from diag.show.as_json import plain
from diag.show.branches import Heading, add_branches, branch_data
from diag.show.importance import add_importance
from diag.show.names import ADVICE, cause_name
from diag.show.page import Page
from diag.show.words import chance, per_cent

SETS = 5


def tree_data(knowledge: Knowledge, tree: EffectTree, file: str | None, fold: Fold) -> dict[str, Any]:
    """The fields of ``diag tree --json``."""
    branch = _branch(knowledge, tree, fold)
    return {
        "id": tree.effect,
        "name": branch.node.name,
        "at_least": knowledge.effects[tree.effect].states[tree.degree],
        "file": file,
        "given_case": tree.given,
        "probability": tree.probability,
        "prior": tree.prior,
        "background": tree.sufficient.background,
        "cut_sets": plain(tree.sufficient.cut_sets),
        "cut_sets_left_out": tree.sufficient.left_out,
        "importance": plain(tree.importance),
        "likely_path": [node.id for node in likely_path(branch)],
        "tree": branch_data(branch),
        "cannot": list(tree.cannot),
    }


def tree_page(knowledge: Knowledge, tree: EffectTree, case: Mapping[str, str], fold: Fold, numbers: bool) -> Page:
    """The tree in words. case: ``vehicle``, ``file`` and ``repaired``, where there is one."""
    page = Page()
    branch = _branch(knowledge, tree, fold)
    heading = tree_heading(knowledge, tree, case)
    page.title(heading.title)
    page.say(heading.note)
    page.blank()
    if tree.with_effect is None:
        page.say("It cannot be, as things stand." if tree.given else "Nothing known brings it about.")
        return page
    add_branches(page, branch, fold, heading, numbers)
    _add_sets(page, knowledge, tree, numbers)
    if numbers:
        add_importance(page, tree.importance, lambda id: cause_name(knowledge, id))
    for sentence in tree.cannot:
        page.say(sentence)
    page.blank()
    page.say(ADVICE)
    return page


def tree_heading(knowledge: Knowledge, tree: EffectTree, case: Mapping[str, str]) -> Heading:
    """What stands over the tree, and what its figures are of."""
    whose = f" - {case['vehicle']} ({case['file']})" if case else ""
    title = f"What can bring it about: {knowledge.effects[tree.effect].name} ({tree.effect}){whose}"
    if tree.given:
        told = "all that was recorded before the first repair" if case.get("repaired") else "all that is recorded"
        note = f"Now: with {told}. Before: the same vehicle, brought in and nothing known yet."
        return Heading(title, note, ("now", "before"))
    vehicle = "this vehicle, brought in and nothing recorded yet" if case else "any vehicle that is brought in"
    return Heading(title, f"How likely it is in {vehicle}.", ("how likely",))


def _branch(knowledge: Knowledge, tree: EffectTree, fold: Fold) -> Branch:
    nodes = Nodes(tree, knowledge)
    return grow(nodes.top, nodes.inputs, fold)


def _add_sets(page: Page, knowledge: Knowledge, tree: EffectTree, numbers: bool) -> None:
    """The likeliest smallest sets of causes."""
    page.title("What suffices to bring it about, the likeliest first")
    for place, one in enumerate(tree.sufficient.cut_sets[:SETS], start=1):
        page.say(_set_words(knowledge, one, numbers), 1, f"{place}.")
    if not tree.sufficient.cut_sets:
        page.say("Nothing that is listed.", 1)
    rest = len(tree.sufficient.cut_sets) - SETS + tree.sufficient.left_out
    if rest > 0:
        page.say(f"{rest} more: --json.", 1)
    figure = f" [{per_cent(tree.sufficient.background)}]" if numbers else ""
    page.say(f"With no fault at all behind it: {chance(tree.sufficient.background)}{figure}.", 1)
    page.say(
        "Each is a smallest set of causes that can bring it about with nothing else there (a minimal cut set). The "
        "first figure says how likely it is that they are there and the effect too. 'Enough alone' says how often they "
        "bring it about by themselves, for a link may fail to fire.",
        1,
    )


def _set_words(knowledge: Knowledge, one: CauseSet, numbers: bool) -> str:
    names = " and ".join(f"{cause_name(knowledge, cause)} ({cause})" for cause in one.causes)
    figure = f" [{per_cent(one.probability)}; alone {per_cent(one.alone)}]" if numbers else ""
    return f"{names} - {chance(one.probability)}; enough alone {chance(one.alone)}{figure}"
