"""Entries from everyday words: synonyms, near misses and mistyped words.

What people say and what the trade says for the same is in everyday.yaml; names of entries by other words are in the
base itself (``also_called``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import log
from pathlib import Path

from diag.knowledge.known import ONE
from diag.knowledge.types import Entry, Knowledge
from diag.knowledge.walk import section
from diag.text import ListNode, MapNode, Node, ProblemsFound, TextNode, read

SEARCHED = ("causes", "effects", "findings", "tests", "history", "fittings", "access")
CLOSE_WORD = 75.0  # of 100: likeness from which a word counts as another one mistyped or bent
LEAST = 0.3  # share of the words asked for, rare ones weighing more, that a hit must answer
EVERYDAY = Path(__file__).with_name("everyday.yaml")

_WORD = re.compile(r"[^\W_]+")
# Every word of a name counts, a question says the same in passing, and words picked from all its texts say less still.
_WEIGHT_OF_NAME, _WEIGHT_OF_QUESTION, _WEIGHT_OF_ALL = 1.0, 0.85, 0.8
# Another word for the same is nearly as good as the word.
_ALIKE = 0.85


@dataclass(frozen=True, slots=True)
class Hit:
    """An entry that answers the words; ``score`` from 0 to 1."""

    id: str
    kind: str
    name: str
    score: float


def search(knowledge: Knowledge, words: str, limit: int = 10) -> tuple[Hit, ...]:
    """At most ``limit`` entries whose id, name, other names or question resemble ``words``, the best first."""
    asked = _meaning(_words(words))
    texts = [(kind, entry, weight, _words(text)) for kind, entry, weight, text in _texts(knowledge)]
    alike = _alike(asked, [told for *_, told in texts])
    best: dict[tuple[str, str], Hit] = {}
    for kind, entry, weight, told in texts:
        score = weight * _score(asked, told, alike)
        key = (kind, entry.id)
        if score >= LEAST and (key not in best or score > best[key].score):
            best[key] = Hit(entry.id, ONE[kind], entry.name, score)
    return tuple(sorted(best.values(), key=lambda hit: (-hit.score, hit.id)))[:limit]


def _texts(knowledge: Knowledge) -> Iterator[tuple[str, Entry, float, str]]:
    for kind in SEARCHED:
        for entry in section(knowledge, kind).values():
            names = (entry.id, entry.name, *entry.also_called, *entry.formerly)
            question = getattr(entry, "question", "")
            for text in names:
                yield kind, entry, _WEIGHT_OF_NAME, text
            yield kind, entry, _WEIGHT_OF_QUESTION, question
            yield kind, entry, _WEIGHT_OF_ALL, " ".join((*names, question))


def _words(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_WORD.findall(text.lower())))


def _meaning(asked: tuple[str, ...]) -> tuple[str, ...]:
    """The words that say something; all of them where none does."""
    return tuple(word for word in asked if word not in _everyday()[0]) or asked


@cache
def _everyday() -> tuple[frozenset[str], Mapping[str, frozenset[str]]]:
    """The words to pass over, and for each word those that mean the same."""
    root, problems = read(EVERYDAY)
    if not isinstance(root, MapNode):
        raise ProblemsFound(problems)
    same: dict[str, frozenset[str]] = {}
    groups = root.get("alike")
    for group in groups.items if isinstance(groups, ListNode) else ():
        words = _listed(group)
        same |= {word: same.get(word, frozenset()) | words for word in words}
    return _listed(root.get("passed_over")), same


def _listed(node: Node | None) -> frozenset[str]:
    items = node.items if isinstance(node, ListNode) else ()
    return frozenset(item.value for item in items if isinstance(item, TextNode))


@dataclass(frozen=True, slots=True)
class _Alike:
    """For each word asked for: how rare it is, and the words of the base that resemble it, from 0 to 1."""

    rarity: dict[str, float]
    likeness: dict[str, dict[str, float]]


def _alike(asked: Sequence[str], texts: Sequence[Sequence[str]]) -> _Alike:
    vocabulary = sorted({word for text in texts for word in text})
    rarity, likeness = {}, {}
    for word in asked:
        likeness[word] = _near(word, vocabulary)
        holding = sum(1 for text in texts if any(other in likeness[word] for other in text))
        rarity[word] = log(1 + len(texts) / (1 + holding))
    return _Alike(rarity, likeness)


def _near(word: str, vocabulary: Sequence[str]) -> dict[str, float]:
    """Words of the base that are ``word`` mistyped or bent, or mean the same, each with its likeness."""
    from rapidfuzz import fuzz, process  # only a search needs it

    near = process.extract(word, vocabulary, scorer=fuzz.ratio, score_cutoff=CLOSE_WORD, limit=None)
    found = {other: score / 100 for other, score, _ in near}
    same = _everyday()[1].get(word, frozenset())
    for other in same.intersection(vocabulary):
        found[other] = max(found.get(other, 0.0), _ALIKE)
    return found


def _score(asked: Sequence[str], told: Sequence[str], alike: _Alike) -> float:
    """The share of the words asked for that ``told`` answers, a little less where it says much else."""
    found = {word: max((alike.likeness[word].get(other, 0.0) for other in told), default=0.0) for word in asked}
    whole = sum(alike.rarity.values())
    if not whole or not told:
        return 0.0
    answered = sum(alike.rarity[word] * likeness for word, likeness in found.items()) / whole
    return answered * (0.8 + 0.2 * min(sum(found.values()) / len(told), 1.0))
