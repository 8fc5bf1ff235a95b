"""What a person typed at a prompt of the interview, understood: an answer, a wish, or neither."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from diag.case import GONE, UNSURE, Answer, is_reading, read_answer
from diag.knowledge.types import Finding, HistoryFact
from diag.measure.forms import read_text
from diag.measure.misread import Misread
from diag.measure.vehicle import Vehicle
from diag.text import did_you_mean

Asked = Finding | HistoryFact

LEAST_LETTERS = 2  # of a state or its word that may stand for the whole of it, "y" and "n" besides


class Wish(Enum):
    """What a person may want other than answer."""

    DONT_KNOW = "d"
    CANNOT = "c"
    BACK = "b"
    STOP = "s"
    HELP = "h"


@dataclass(frozen=True, slots=True)
class Told:
    """An answer, as ``record`` takes it."""

    text: str


@dataclass(frozen=True, slots=True)
class Unclear:
    """Neither an answer nor a wish, and why."""

    why: str


Reply = Told | Wish | Unclear

_WISHES = {
    **{wish.value: wish for wish in Wish},
    "don't know": Wish.DONT_KNOW,
    "dont know": Wish.DONT_KNOW,
    "can't": Wish.CANNOT,
    "back": Wish.BACK,
    "stop": Wish.STOP,
    "quit": Wish.STOP,
    "help": Wish.HELP,
    "?": Wish.HELP,
}


def understand(typed: str, asked: Asked) -> Reply:
    """``typed`` as an answer to ``asked``: a state by word, number or first letters, unsure or not, or a wish."""
    plain = " ".join(typed.casefold().split())
    wish = wish_of(plain)
    if wish:
        return wish
    if plain in ("g", GONE):
        return Told(GONE)
    if not plain:
        return Unclear("Answer, or d for don't know.")
    doubted = _doubted(plain)
    if doubted is None:
        return _state(plain, asked)
    state = _state(doubted, asked)
    return Told(f"{UNSURE}:{state.text}") if isinstance(state, Told) else state


def wish_of(typed: str) -> Wish | None:
    """What ``typed`` wishes, or None where it is no wish."""
    return _WISHES.get(" ".join(typed.casefold().split()))


def word_of(asked: Asked, state: str) -> str:
    """What a state is called on the screen."""
    words = asked.words if isinstance(asked, Finding) else {}
    return words.get(state, state.replace("_", " "))


def _doubted(plain: str) -> str | None:
    """What stands behind ``u``, ``?`` or ``unsure``; None where there is no doubt."""
    for lead in (f"{UNSURE}:", f"{UNSURE} ", "u ", "?"):
        if plain.startswith(lead):
            return plain.removeprefix(lead).strip()
    return None


def _state(plain: str, asked: Asked) -> Told | Unclear:
    if plain.isdecimal() and 1 <= int(plain[:4]) <= len(asked.states):
        return Told(asked.states[int(plain) - 1])
    names = {state: {*_names(asked, state)} for state in asked.states}
    exact = read_answer(plain, asked.states, asked.words if isinstance(asked, Finding) else {})
    if isinstance(exact, Answer) and exact.state:
        return Told(exact.text)
    fits = [state for state, known in names.items() if plain in known or _begins(plain, known)]
    if len(fits) == 1:
        return Told(fits[0])
    if not fits and isinstance(asked, Finding) and asked.reading and any(sign.isdigit() for sign in plain):
        return _figure(plain, asked)
    return Unclear(_why(plain, asked, fits))


def _figure(plain: str, asked: Finding) -> Told | Unclear:
    """A reading of an instrument; what fits it to the vehicle is looked at when it is recorded."""
    reading = read_text(plain, asked, Vehicle())
    if isinstance(reading, Misread):
        return Unclear(f"{reading.message} {reading.hint}")
    return Told(plain)


def _names(asked: Asked, state: str) -> Iterator[str]:
    yield state.replace("_", " ").casefold()
    yield word_of(asked, state).casefold()
    if state in ("yes", "no"):
        yield state[0]


def _begins(plain: str, known: set[str]) -> bool:
    return len(plain) >= LEAST_LETTERS and any(name.startswith(plain) for name in known)


def _why(plain: str, asked: Asked, fits: list[str]) -> str:
    if fits:
        return f"That may be {' or '.join(word_of(asked, state) for state in fits)}; say which."
    if is_reading(plain):
        return "Choose the answer it means by its number; a reading itself goes in by 'diag record'."
    guess = did_you_mean(plain, [word_of(asked, state) for state in asked.states])
    return f"That is none of the answers. {guess}".rstrip()
