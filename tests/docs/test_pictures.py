"""The pictures of the README: fresh, the same in every run, without outside files."""

import re
import xml.etree.ElementTree as ElementTree

from docs.pictures import SHEET, TERMINAL, terminal, words


def test_the_picture_of_the_terminal_is_fresh():
    assert words(TERMINAL.read_text(encoding="utf-8")) == words(terminal()), "run: python tests/docs/readme.py"


def test_it_is_the_same_in_every_run_and_stands_alone():
    svg = terminal()
    assert svg == terminal()
    ElementTree.fromstring(svg)
    assert re.findall(r"https?://[^\"' ]+", svg) == ["http://www.w3.org/2000/svg"]
    assert "diag causes" in words(svg) and "diag next" in words(svg)


def test_the_picture_of_the_sheet_is_a_picture():
    """PNG, W3C 2003, section 5.2: the signature; 11.2.2: width and height in the header."""
    data = SHEET.read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert int.from_bytes(data[16:20]) >= 700 and int.from_bytes(data[20:24]) >= 700
    assert len(data) < 400_000
