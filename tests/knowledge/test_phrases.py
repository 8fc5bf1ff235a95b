"""Everyday phrases find the right id among the first three, and what is meant is never guessed silently."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from diag.knowledge.lookup import all_ids
from diag.knowledge.search import search
from diag.knowledge.types import Knowledge
from diag.session import load_knowledge
from diag.text import ListNode, MapNode, TextNode, read

TABLE = Path(__file__).with_name("phrases.yaml")
ENOUGH = 38


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


@cache
def phrases() -> tuple[tuple[str, frozenset[str]], ...]:
    root, problems = read(TABLE)
    assert isinstance(root, ListNode) and not problems
    return tuple(_row(item) for item in root.items if isinstance(item, MapNode))


def _row(item: MapNode) -> tuple[str, frozenset[str]]:
    phrase, right = item.get("phrase"), item.get("right")
    assert isinstance(phrase, TextNode) and isinstance(right, ListNode)
    return phrase.value, frozenset(node.value for node in right.items if isinstance(node, TextNode))


def test_the_table_has_forty_phrases_and_names_ids_that_are_there() -> None:
    known = set(all_ids(knowledge()))
    assert len({phrase for phrase, _ in phrases()}) == len(phrases()) >= 40
    assert all(right and right <= known for _, right in phrases())


def test_no_phrase_is_a_synonym_word_for_word() -> None:
    told = {text.lower() for e in knowledge().findings.values() for text in (e.name, *e.also_called)}
    told |= {text.lower() for e in knowledge().causes.values() for text in (e.name, *e.also_called)}
    assert not told & {phrase.lower() for phrase, _ in phrases()}


def test_nearly_all_have_the_right_id_among_the_first_three() -> None:
    found = {phrase: [hit.id for hit in search(knowledge(), phrase, limit=3)] for phrase, _ in phrases()}
    missed = {phrase: found[phrase] for phrase, right in phrases() if not right.intersection(found[phrase])}
    assert len(phrases()) - len(missed) >= ENOUGH, missed


@pytest.mark.parametrize("words", ["hose", "fan", "leak"])
def test_several_meanings_are_all_shown(words: str) -> None:
    assert len(search(knowledge(), words)) > 3


def test_words_that_say_nothing_change_nothing_but_alone_they_are_searched_for() -> None:
    plain = [hit.id for hit in search(knowledge(), "belt squeals")]
    assert [hit.id for hit in search(knowledge(), "and then the belt really squeals")] == plain
    assert search(knowledge(), "top up") != ()


@pytest.mark.parametrize("words", ["", "   ", "zzzz qqqq", "!!!", "\x1b[31m", "x" * 5000])
def test_nothing_like_it_finds_nothing(words: str) -> None:
    assert search(knowledge(), words) == ()
