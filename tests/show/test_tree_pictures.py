"""Pictures of fault trees: one A4 page of well-formed SVG, DOT with everything quoted, hostile text made harmless."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from oracle.fault_trees import trees

from diag.explain.fault_tree import BasicEvent, FaultTree, TreeGate
from diag.explain.fault_tree.branches import Fold, grow
from diag.explain.fault_tree.nodes import TreeNodes
from diag.show.branches import Heading
from diag.show.tree_dot import tree_dot
from diag.show.tree_svg import tree_svg

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '</text><script>alert("x")</script> & \x1b[31m \u202e "];evil[label="\\'
HEADING = Heading("Title", "A note.", ("now", "before"))
EXAMPLES = settings(max_examples=50, deadline=None, derandomize=True, database=None)


def svg(tree: FaultTree, heading: Heading = HEADING) -> ElementTree.Element:
    nodes = TreeNodes(tree)
    return ElementTree.fromstring(tree_svg(nodes.top, nodes.inputs, Fold(), heading))


def dot(tree: FaultTree, heading: Heading = HEADING) -> str:
    nodes = TreeNodes(tree)
    return tree_dot(grow(nodes.top, nodes.inputs, Fold()), heading)


def texts(picture: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in picture.iter(f"{SVG}text")]


def wide(events: int, name: str = "") -> FaultTree:
    names = [f"e{i}" for i in range(events)]
    return FaultTree(
        "t", {"t": TreeGate("or", tuple(names))}, {id: BasicEvent(0.5 / (i + 1), name) for i, id in enumerate(names)}
    )


@EXAMPLES
@given(trees())
def test_a_page_is_a4_and_everything_lies_on_it(tree):
    picture = svg(tree)
    assert (picture.get("width"), picture.get("height")) == ("210mm", "297mm")
    assert picture.get("viewBox") == "0 0 210 297"
    for text in picture.iter(f"{SVG}text"):
        assert 0 <= float(text.get("x")) <= 210
        assert 0 <= float(text.get("y")) <= 297
        assert float(text.get("font-size")) * 72 / 25.4 >= 7.5  # points: still read at arm's length
    for circle in picture.iter(f"{SVG}circle"):
        assert float(circle.get("cy")) < 297 - 24


def test_every_branch_of_a_small_tree_is_drawn():
    tree = FaultTree(
        "top",
        {
            "top": TreeGate("or", ("a", "pair", "vote"), name="it fails"),
            "pair": TreeGate("and", ("a", "b")),
            "vote": TreeGate("k_of_n", ("pair", "b", "c"), 2),
        },
        {"a": BasicEvent(0.1, "first"), "b": BasicEvent(0.2), "c": BasicEvent(0.3)},
    )
    picture = svg(tree)
    told = texts(picture)
    assert {"it fails", "first", "c", "pair; takes all of:", "vote; takes 2 or more of:", "≥1", "&", "≥2"} <= set(told)
    assert "pair; see above" in told
    assert any(text.startswith("Thick line, bold words: the likely path - ") for text in told)
    # nothing by colour: black and white alone
    assert {e.get(k) for e in picture.iter() for k in ("fill", "stroke")} <= {None, "none", "black", "white"}


def test_a_tree_too_big_for_the_page_is_folded_and_says_so():
    picture = svg(wide(200))
    drawn = len(list(picture.iter(f"{SVG}circle")))
    assert 20 < drawn < 60
    assert f"{200 - drawn} rarer ones not shown" in texts(picture)
    assert any(text.startswith("Not shown: what is behind it in less than") for text in texts(picture))


def test_a_chain_longer_than_the_page_says_how_much_is_missing():
    gates = {f"g{i}": TreeGate("or", (f"g{i + 1}",)) for i in range(79)} | {"g79": TreeGate("or", ("e",))}
    picture = svg(FaultTree("g0", gates, {"e": BasicEvent(0.5)}))
    assert any("do not fit on the page" in text or "not opened" in text for text in texts(picture))


def test_long_names_are_cut_not_run_over_the_chances():
    told = texts(svg(wide(2, "word " * 60)))
    assert any(text.startswith("word word") and text.endswith("...") and len(text) < 110 for text in told)


@pytest.mark.parametrize("where", ["name", "title"])
def test_hostile_text_is_text_in_svg(where):
    tree = wide(2, HOSTILE if where == "name" else "")
    heading = Heading(HOSTILE if where == "title" else "t", "n", ("now",))
    picture = svg(tree, heading)
    assert not list(picture.iter(f"{SVG}script"))
    shown = '</text><script>alert("x")</script> & \\u{1b}[31m \\u{202e} "];evil[label="\\'
    assert shown in " ".join(texts(picture))


@pytest.mark.parametrize("where", ["name", "title"])
def test_hostile_text_is_text_in_dot(where):
    text = dot(
        wide(2, HOSTILE if where == "name" else ""), Heading(HOSTILE if where == "title" else "t", "n", ("now",))
    )
    outside = re.sub(r'"(?:[^"\\]|\\.)*"', "", text)  # what is left when all quoted strings are taken out
    assert "evil" in text
    assert "evil" not in outside
    assert '"' not in outside
    assert "\x1b" not in text


def test_dot_has_every_event_once_and_shared_ones_twice_linked():
    tree = FaultTree(
        "t",
        {"t": TreeGate("and", ("x", "y")), "x": TreeGate("or", ("a", "b")), "y": TreeGate("or", ("a", "c"))},
        {id: BasicEvent(0.1) for id in "abc"},
    )
    text = dot(tree)
    assert len(re.findall(r'^  "a" \[', text, re.MULTILINE)) == 1
    assert '"x" -> "a"' in text
    assert '"y" -> "a"' in text
