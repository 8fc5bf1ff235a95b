"""What a person answered about a finding, as text, into a likelihood over its states."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diag.case.entry import GONE, UNSURE
from diag.case.scalar import shown
from diag.text import did_you_mean

UNSURE_PROBABILITY = 0.8  # what an unsure witness means who names no figure (design of record)
_READING = re.compile(r"[<>~=±+-]?\s*[-+−]?\d")


@dataclass(frozen=True, slots=True)
class Answer:
    """``text`` is as the file takes it; ``state`` the state it speaks of, empty where gone.

    ``likelihood`` is over the states in their order, None where the finding is gone.
    """

    text: str
    state: str
    likelihood: tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a text is no answer; ``offset`` is where in the text, from 0."""

    message: str
    hint: str
    offset: int = 0


def read_answer(text: str, states: Sequence[str], words: Mapping[str, str]) -> Answer | Fault:
    """The answer ``text`` tells: a state, one of the ``words`` for it, ``unsure:STATE:P`` or ``gone``."""
    state = _state(text, states, words)
    if state:
        return Answer(state, state, _spread(states, state, 1.0))
    if text == GONE:
        return Answer(GONE, "", None)
    if text.split(":")[0] == UNSURE:
        return _unsure(text, states, words)
    return _unknown(text, states, words, 0)


def is_reading(text: str) -> bool:
    """Whether ``text`` looks like a reading of an instrument (``0.3 bar``) rather than a state."""
    return bool(_READING.match(text))


def mixed(likelihood: Sequence[float], trust: float) -> tuple[float, ...]:
    """``likelihood`` mixed with a flat one: ``trust`` 1 leaves it as it is, 0 makes it say nothing."""
    return tuple(trust * value + (1.0 - trust) for value in likelihood)


def _unsure(text: str, states: Sequence[str], words: Mapping[str, str]) -> Answer | Fault:
    _, _, rest = text.partition(":")
    told, colon, figure = rest.partition(":")
    state = _state(told, states, words)
    if not state:
        return _unknown(told, states, words, len(UNSURE) + 1)
    probability = _probability(figure) if colon else UNSURE_PROBABILITY
    if probability is None:
        hint = "Write a number from 0 to 1 with a point, such as unsure:yes:0.7."
        return Fault(f"'{shown(figure)}' is no probability.", hint, len(text) - len(figure))
    canonical = ":".join((UNSURE, state, figure)) if colon else f"{UNSURE}:{state}"
    return Answer(canonical, state, _spread(states, state, probability))


def _probability(text: str) -> float | None:
    if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?|\.[0-9]{1,9}", text):
        return None
    value = float(text)
    return value if value <= 1.0 else None


def _spread(states: Sequence[str], state: str, probability: float) -> tuple[float, ...]:
    others = len(states) - 1
    rest = (1.0 - probability) / others if others else 0.0
    return tuple(probability if other == state else rest for other in states)


def _state(text: str, states: Sequence[str], words: Mapping[str, str]) -> str:
    if text in states:
        return text
    return next((s for s, word in words.items() if s in states and _plain(word) == _plain(text)), "")


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").split())


def _unknown(text: str, states: Sequence[str], words: Mapping[str, str], offset: int) -> Fault:
    known = ", ".join(f"{state} ({words[state]})" if state in words else state for state in states)
    guess = did_you_mean(text, [*states, *words.values(), GONE])
    hint = f"{guess} Its states: {known}; besides unsure:STATE and {GONE}.".lstrip()
    return Fault(f"'{shown(text)}' is not one of its states.", hint, offset)
