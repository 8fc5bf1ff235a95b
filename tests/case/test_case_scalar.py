"""Any text comes back equal, by our reader and, where it can be seen, by a general YAML reader."""

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from diag.case.scalar import as_told, scalar, shown
from diag.text import MapNode, TextNode, parse, unseen_character

ANY_TEXT = st.text(st.characters(exclude_categories=()))  # lone surrogates too: they come in from a command line
NAMED = (
    "",
    " ",
    " leading and trailing ",
    "two\nlines",
    "\n",
    "windows\r\nline",
    "a: b",
    "- a",
    "# no remark",
    "say \"no\" and 'yes'",
    "C:\\new\\u",
    "yes",
    "No",
    "null",
    "~",
    "0o17",
    "1e3",
    ".inf",
    "2024-05-31",
    "\x1b[31mred\x1b[0m",
    "\x00",
    "\\u{1b}",
    "\\u{5c}u{1b}",
    "\\u{110000}",
    "\u202etext",
    "\ufeff",
    "\ud800",
    "Kühler läuft über 🔥",
    "a\u00a0b",
    "a,b]c}d",
    "*alias &anchor !tag %x @y `z",
)


def _through_a_file(text: str) -> str:
    root, problems = parse(f"key: {scalar(text)}\nflow: [{scalar(text)}, {{{scalar(text)}: x}}]\n", "t")
    assert problems == []
    assert isinstance(root, MapNode)
    value = root.get("key")
    assert isinstance(value, TextNode)
    return as_told(value.value)


@pytest.mark.parametrize("text", NAMED, ids=ascii)
def test_a_named_text_comes_back_equal(text: str) -> None:
    assert _through_a_file(text) == text


@given(ANY_TEXT)
def test_any_text_comes_back_equal(text: str) -> None:
    assert _through_a_file(text) == text


@given(st.text(st.sampled_from("\\u{}15cb\x1b\r\n\"'")))
def test_texts_that_look_like_our_own_form_come_back_equal(text: str) -> None:
    assert _through_a_file(text) == text


@given(st.text())
@example("yes")
@example("0o17")
@example("Null")
@example("1_000")
def test_a_general_reader_takes_it_for_the_same_text(text: str) -> None:
    told = yaml.safe_load(f"key: {scalar(text)}\n")["key"]
    assert type(told) is str
    assert told == shown(text)


@given(ANY_TEXT)
def test_it_stands_in_one_line_without_a_character_that_cannot_be_seen(text: str) -> None:
    assert "\n" not in scalar(text)
    assert unseen_character(scalar(text)) is None


def test_plain_words_stay_plain() -> None:
    assert scalar("bottom_hose_cold") == "bottom_hose_cold"
    assert scalar("grey tractor") == "grey tractor"
