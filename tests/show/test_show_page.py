"""Pages: wrapped with hanging indents, every text made harmless."""

from __future__ import annotations

from io import StringIO

import pytest

from diag.show.as_json import to_json
from diag.show.clean import visible
from diag.show.page import Page


def printed(page: Page) -> list[str]:
    stream = StringIO()
    page.print(stream)
    return stream.getvalue().splitlines()


def test_what_does_not_fit_goes_on_below_the_first_word():
    page = Page()
    page.say("word " * 30, indent=2, marker="-")
    lines = printed(page)
    assert len(lines) == 2
    assert lines[0].startswith("  - word")
    assert lines[1].startswith("    word")
    assert max(map(len, lines)) <= 80


def test_a_word_longer_than_the_line_is_not_lost():
    page = Page()
    page.say("x" * 200)
    assert "".join(line.strip() for line in printed(page)) == "x" * 200


def test_markup_is_text():
    page = Page()
    page.title("[red]title[/red] :smile:")
    page.say("[link=x]text[/link]", marker="[b]")
    assert printed(page) == ["[red]title[/red] :smile:", "[b] [link=x]text[/link]"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b]0;title\x07", "\\u{1b}]0;title\\u{7}"),
        ("a\rb", "a\\u{d}b"),
        ("a\nb\tc", "a\\nb\\tc"),
        ("\x9b31m", "\\u{9b}31m"),
        ("\u202eabc", "\\u{202e}abc"),
        ("grün", "grün"),
    ],
)
def test_characters_that_act_or_hide_are_written_out(text, shown):
    assert visible(text) == shown


def test_json_is_ascii_and_keeps_numbers_unrounded():
    assert to_json({"a": 0.1 + 0.2, "b": "ü\x1b"}) == (
        '{\n  "schema": 1,\n  "a": 0.30000000000000004,\n  "b": "\\u00fc\\u001b"\n}'
    )
