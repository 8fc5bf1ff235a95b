"""The branches of a fault tree: as lines on the terminal, and as JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from diag.explain.fault_tree.branches import Branch, Fold, Node, Row, likely_path, rows, walk
from diag.show.page import Page
from diag.show.words import chance, per_cent


@dataclass(frozen=True)
class Heading:
    """What stands over a tree. columns: what its chances are of, "now" and "before", or one; words: how one is told."""

    title: str
    note: str
    columns: tuple[str, ...]
    words: Callable[[float], str] = chance


PATH, OTHER = ">", "-"


def branch_data(branch: Branch) -> dict[str, Any]:
    """A branch and all below it for programs."""
    node = branch.node
    return {
        "id": node.id,
        "name": node.name,
        "kind": node.kind,
        "state": node.state,
        "gate": node.gate,
        "k": node.k,
        "stopped_by": list(node.stopped_by),
        "prior": node.prior,
        "probability": node.probability,
        "share": branch.share,
        "likely_path": branch.on_path,
        "shared": branch.shared,
        "deeper": branch.deeper,
        "folded": branch.folded,
        "inputs": [branch_data(below) for below in branch.inputs],
    }


def add_branches(page: Page, top: Branch, fold: Fold, heading: Heading, numbers: bool) -> None:
    """The tree, a line a branch; the likely path by its marker and, below the tree, in words."""
    for row in rows(top):
        if row.branch is None:
            page.say(folded_words(row), 2 * row.level, OTHER)
            continue
        on_path = row.branch.on_path
        marker, style = (PATH, "bold") if on_path else (OTHER, "")
        page.say(_line(row.branch, heading, numbers), 2 * row.level, marker, style)
    page.blank()
    path = [named(node) for node in reversed(likely_path(top))]
    page.say(f"The likely path, marked {PATH}: {', then '.join(path)}.")
    if any(branch.folded for branch in walk(top)):
        page.say(f"Not shown: what is behind it in less than {rarely(fold)} of the cases that have it.")


def _line(branch: Branch, heading: Heading, numbers: bool) -> str:
    node = branch.node
    figures = f" [{_figures(branch, len(heading.columns) > 1)}]" if numbers else ""
    known = "" if node.kind == "background" or node.id == node.name else f" ({node.id})"
    ends = [chances(node, heading) + figures, *remarks(branch)]
    return f"{named(node)}{known} - {'; '.join(ends)}"


def remarks(branch: Branch) -> list[str]:
    """What else is to be said of a branch: seen above, not opened, how its inputs bring it about, what stops it."""
    node = branch.node
    told = []
    if branch.shared:
        told.append("see above")
    elif branch.deeper:
        told.append("not opened, it lies deeper")
    elif node.gate in ("and", "inhibit"):
        told.append("takes all of:")
    elif node.gate == "k_of_n":
        told.append(f"takes {node.k} or more of:")
    if node.stopped_by and not branch.shared:
        told.insert(0, f"can be stopped by: {', '.join(node.stopped_by)}")
    return told


def folded_words(row: Row) -> str:
    """How many inputs are not shown."""
    return f"{row.folded} rarer {'one' if row.folded == 1 else 'ones'} not shown"


def rarely(fold: Fold) -> str:
    """The share below which branches are folded, in words."""
    return f"1 in {round(1 / fold.least)}" if fold.least < 0.5 else f"{round(10 * min(fold.least, 1))} in 10"


def named(node: Node) -> str:
    """A node's name, and the degree where it has degrees."""
    return f"{node.name}: {node.state}" if node.state else node.name


def chances(node: Node, heading: Heading) -> str:
    """How likely a node is, now and before where there is a difference."""
    now, before = heading.words(node.probability), heading.words(node.prior)
    return f"{now} now, {before} before" if len(heading.columns) > 1 else now


def _figures(branch: Branch, given: bool) -> str:
    node = branch.node
    before = f", {_figure(node.prior)} before" if given else ""
    return f"{_figure(node.probability)}{before}, behind it {per_cent(branch.share)}"


def _figure(p: float) -> str:
    return per_cent(p) if p >= 0.001 or p == 0 else f"{p:.3g}"
