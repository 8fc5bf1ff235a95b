"""A fault tree in the DOT language, every event once, shared ones with several lines to them."""

from __future__ import annotations

from collections.abc import Iterator

from diag.explain.fault_tree.branches import Branch, walk
from diag.show.branches import Heading, chances, named
from diag.show.clean import visible


def tree_dot(top: Branch, heading: Heading) -> str:
    """The tree as one graph; the likely path has thick lines."""
    boxes: dict[str, str] = {}
    for branch in walk(top):
        if not branch.shared and branch.node.key not in boxes:
            boxes[branch.node.key] = _box(branch, heading)
    lines = [f"  {_quoted(key)} [{box}];" for key, box in boxes.items()]
    head = f"digraph fault_tree {{\n  label={_quoted(heading.title)};\n  labelloc=t;\n  node [fontname=sans];\n"
    return head + "\n".join([*lines, *_arrows(top)]) + "\n}\n"


def _box(branch: Branch, heading: Heading) -> str:
    node = branch.node
    gate = {"or": ">=1", "k_of_n": f">={node.k}", "": ""}.get(node.gate, "&")
    label = "\\n".join(_escaped(part) for part in (named(node), chances(node, heading), gate) if part)
    folded = f"\\n{branch.folded} more folded" if branch.folded else ""
    shape = "box" if node.gate else "diamond" if node.kind == "background" else "ellipse"
    return f'shape={shape}, label="{label}{folded}", penwidth={3 if branch.on_path else 1}'


def _arrows(branch: Branch) -> Iterator[str]:
    for above in walk(branch):
        for below in above.inputs:
            width = 3 if below.on_path else 1
            yield f"  {_quoted(above.node.key)} -> {_quoted(below.node.key)} [penwidth={width}];"


def _quoted(text: str) -> str:
    return f'"{_escaped(text)}"'


def _escaped(text: str) -> str:
    return visible(text).replace("\\", "\\\\").replace('"', '\\"')
