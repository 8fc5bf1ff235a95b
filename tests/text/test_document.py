"""Reading YAML as text: places, refusals, limits; the same with both engines."""

from __future__ import annotations

import tracemalloc
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from diag.text import ListNode, MapNode, Node, TextNode, build, document, parse, parse_bytes, read, yaml_engine
from diag.text.build import MAX_DEPTH
from diag.text.document import MAX_BYTES

ENGINES = ["python", *(["libyaml"] if yaml.__with_libyaml__ else [])]


@pytest.fixture(params=ENGINES)
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(document, "yaml_engine", lambda: request.param)
    return str(request.param)


def plain(node: Node | None) -> Any:
    """A node as text, lists and dictionaries."""
    if isinstance(node, MapNode):
        return {key.value: plain(value) for key, value in node.items}
    if isinstance(node, ListNode):
        return [plain(item) for item in node.items]
    return node.value if node else None


@pytest.mark.usefixtures("engine")
def test_every_node_carries_its_place() -> None:
    root, problems = parse("a: one\nb:\n  - x\n  - 'y'\n", "f.yaml")
    assert problems == []
    assert root == MapNode(
        (
            (TextNode("a", "f.yaml", 1, 1), TextNode("one", "f.yaml", 1, 4)),
            (
                TextNode("b", "f.yaml", 2, 1),
                ListNode((TextNode("x", "f.yaml", 3, 5), TextNode("y", "f.yaml", 4, 5, quoted=True)), "f.yaml", 3, 3),
            ),
        ),
        "f.yaml",
        1,
        1,
    )
    assert str(root.items[1][1].mark) == "f.yaml:3:3"


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize(
    "text",
    [
        "yes",
        "no",
        "on",
        "off",
        "null",
        "~",
        "007",
        "0o17",
        "1e3",
        "0x1f",
        "1_000",
        "12:30:45",
        "2001-01-01",
        ".inf",
        "<<",
        "=",
    ],
)
def test_a_scalar_stays_the_text_it_is(text: str) -> None:
    root, problems = parse(f"{text}: [{text}]", "f")
    assert (plain(root), problems) == ({text: [text]}, [])


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize(
    ("text", "expected"),
    [("", None), ("# only a remark\n", None), ("a:\n", {"a": ""}), ("---\na: b\n...\n", {"a": "b"})],
)
def test_little_or_nothing_is_no_problem(text: str, expected: object) -> None:
    root, problems = parse(text, "f")
    assert (plain(root), problems) == (expected, [])


REFUSED = [
    # text, code, line, column
    ("a: b: c\n", "syntax", 1, 5),
    ("a:\n\tb: c\n", "syntax", 2, 1),
    ("a: [b, c\nd: e\n", "syntax", 2, 2),
    ("a: 'b\n", "syntax", 2, 1),
    ("a: 1\nb:\n  c: 1\n  d: 2\n  c: 3\n", "duplicate-key", 5, 3),
    ("{a: 1, 'a': 2}\n", "duplicate-key", 1, 8),
    ("a: &x b\n", "anchor", 1, 4),
    ("a: &x {b: c}\n", "anchor", 1, 4),
    ("a:\n  - *x\n", "alias", 2, 5),
    ("<<: *x\n", "alias", 1, 5),
    ("a: !!int 3\n", "tag", 1, 4),
    ("a: !!python/object/apply:os.system [ls]\n", "tag", 1, 4),
    ("a: !own {b: c}\n", "tag", 1, 4),
    ("a: b\n---\na: c\n", "several-documents", 2, 1),
    ("? [a, b]\n: c\n", "key-not-text", 1, 3),
    ("a:\n  {b: c}: d\n", "key-not-text", 2, 3),
    ("a: b\nc: d\x07e\n", "control-character", 2, 5),
    ("a: b\n# \x1b[31m red\n", "control-character", 2, 3),
    ('a: "\\e[31m"\n', "control-character", 1, 4),
    ('a: "\\u202e"\n', "control-character", 1, 4),
    ("a: \u202eb\n", "control-character", 1, 4),
    ("a: \ud800\n", "control-character", 1, 4),
    ("a: b\x85c: d\n", "control-character", 1, 5),
    ("[" * (MAX_DEPTH + 1), "too-deep", 1, MAX_DEPTH + 1),
    ("\n" + "- " * (MAX_DEPTH + 5) + "x", "too-deep", 2, 2 * MAX_DEPTH + 1),
]


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize(("text", "code", "line", "column"), REFUSED)
def test_what_is_refused_is_told_with_its_place(text: str, code: str, line: int, column: int) -> None:
    root, problems = parse(text, "f.yaml")
    assert root is None
    assert [(p.code, p.mark.file, p.mark.line, p.mark.column) for p in problems] == [(code, "f.yaml", line, column)]
    assert problems[0].message.endswith(".")
    assert problems[0].hint


@pytest.mark.usefixtures("engine")
def test_all_refusals_are_collected_in_the_order_of_the_file() -> None:
    _, problems = parse("a: &x b\na: !t c\nd: *x\n", "f")
    assert [(p.code, p.mark.line) for p in problems] == [("anchor", 1), ("duplicate-key", 2), ("tag", 2), ("alias", 3)]


BYTES = [
    (b"\xef\xbb\xbfa: b\r\nc: d\r\n", {"a": "b", "c": "d"}, []),
    (b"a: b\nc: caf\xe9\n", None, [("not-utf8", 2, 7)]),
    ("é: ".encode() + b"\xff\n", None, [("not-utf8", 1, 4)]),
    ("a: b\n".encode("utf-16"), None, [("not-utf8", 1, 1)]),
    (b"\xef\xbb\xbfa: \xff\n", None, [("not-utf8", 1, 4)]),
    (b"a" * (MAX_BYTES + 1), None, [("too-large", 1, 1)]),
]


@pytest.mark.parametrize(("data", "expected", "wrong"), BYTES)
def test_bytes_are_utf8_and_few_enough(data: bytes, expected: object, wrong: list[tuple[str, int, int]]) -> None:
    root, problems = parse_bytes(data, "f")
    assert plain(root) == expected
    assert [(p.code, p.mark.line, p.mark.column) for p in problems] == wrong


@pytest.mark.usefixtures("engine")
def test_too_many_values_stop_at_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build, "MAX_NODES", 100)
    # The list is node 1, so the 100th value in it is one too many.
    assert parse("- x\n" * 99, "f")[1] == []
    root, problems = parse("- x\n" * 200, "f")
    assert root is None
    assert [(p.code, p.mark.line, p.mark.column) for p in problems] == [("too-many-nodes", 100, 3)]


BOMBS = {
    "aliases": "a: &a [x, x]\n"
    + "".join(f"b{i}: &b{i} [{', '.join([f'*b{i - 1}' if i else '*a'] * 9)}]\n" for i in range(30)),
    "flow depth": "[" * 1_000_000,
    "block depth": "- " * 500_000,
    "map depth": "{a: " * 500_000,
}


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_takes_little_memory(name: str) -> None:
    tracemalloc.start()
    root, problems = parse(BOMBS[name], "f")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert root is None
    assert {p.code for p in problems} <= {"anchor", "alias", "too-deep"}
    assert problems
    # A few copies of the text, none of what it pretends to hold (9 to the power of 30 values).
    assert peak < 16 * len(BOMBS[name]) + 1_000_000


@pytest.mark.parametrize(("name", "code"), [("none.yaml", "no-such-file"), ("", "unreadable")])
def test_a_file_that_cannot_be_read_is_a_problem(tmp_path: Path, name: str, code: str) -> None:
    path = tmp_path / name
    root, problems = read(path)
    assert root is None
    assert [(p.code, str(p.mark)) for p in problems] == [(code, f"{path.as_posix()}:1:1")]


def test_reading_a_file_is_parsing_its_text(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_bytes(b"a: b\n")
    assert read(path) == parse("a: b\n", path.as_posix())


def test_the_engine_is_told() -> None:
    assert yaml_engine() == ENGINES[-1]


# Any text that a file may hold; the characters left out are those that ``control-character`` refuses.
TEXTS = st.text(
    st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp", "Co", "Cn"], include_characters="\n\t"), max_size=12
)
NESTED = st.recursive(
    TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=20,
)


def render(value: Any, indent: int = 0) -> str:
    """``value`` as YAML: maps and lists in block style, texts in double quotes with escapes."""
    pad = "\n" + "  " * indent
    if isinstance(value, dict) and value:
        return "".join(f"{pad}{quoted(key)}: {render(inner, indent + 1)}" for key, inner in value.items())
    if isinstance(value, list) and value:
        return "".join(f"{pad}- {render(inner, indent + 1)}" for inner in value)
    return quoted(value) if isinstance(value, str) else ("{}" if isinstance(value, dict) else "[]")


def quoted(text: str) -> str:
    named = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    return '"' + "".join(named.get(letter, letter) for letter in text) + '"'


@given(NESTED)
def test_parse_gives_back_what_render_wrote(value: Any) -> None:
    root, problems = parse(render(value), "f")
    assert problems == []
    assert plain(root) == value


@given(st.text(max_size=60))
def test_any_text_gives_nodes_or_problems_never_an_exception(text: str) -> None:
    root, problems = parse(text, "f")
    assert root is None or problems == []


@given(st.text("ab:-[]{}'\",#*!|>?@ \n\t", max_size=30))
def test_where_both_engines_accept_a_text_they_read_the_same(text: str) -> None:
    with pytest.MonkeyPatch.context() as patch:
        answers = []
        for name in ENGINES:
            patch.setattr(document, "yaml_engine", lambda name=name: name)
            answers.append(parse(text, "f"))
    read_by = [plain(root) for root, problems in answers if not problems]
    assert all(value == read_by[0] for value in read_by)
