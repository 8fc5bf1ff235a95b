"""What brought the vehicle in: free words, and the findings they may mean. Nothing is taken without asking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diag.cli.interview_answer import Wish, wish_of, word_of
from diag.cli.interview_sitting import Sitting, Stopped, prompt, say
from diag.knowledge.search import search
from diag.knowledge.types import Finding, Knowledge
from diag.show.page import Page

SHOWN = 6
_LONGEST = 200  # characters of what was typed that are searched for
_MOST_WORDS = 12  # of a sentence that are searched for one by one
_LEAST_LETTERS = 4  # shorter words (it, the, and) stand everywhere
_ALL = 10_000  # hits of every kind; those that nobody comes in for are left out afterwards


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing people bring a vehicle in for."""

    finding: str
    state: str
    text: str


def ask_complaint(sitting: Sitting) -> None:
    """Ask what brought the vehicle in until there is a complaint, then for anything else."""
    known = complaints(sitting.knowledge)
    say("", "What brought the vehicle in? Say it in a few words; l shows the whole list.")
    while True:
        typed = prompt("Anything else? (Enter: no) " if sitting.has_complaint else "It came in because: ")
        wish = wish_of(typed)
        if wish is Wish.STOP:
            raise Stopped
        if wish is Wish.BACK:
            sitting.back()
        elif wish or typed == "l" or (not typed and not sitting.has_complaint):
            _take(sitting, "", known)
        elif not typed:
            return
        else:
            _take(sitting, typed, meant(typed, sitting.knowledge, known))


def complaints(knowledge: Knowledge) -> tuple[Complaint, ...]:
    """All that people bring a vehicle in for, each state that stands out on its own."""
    return tuple(sorted(_each(knowledge), key=lambda complaint: complaint.text))


def meant(words: str, knowledge: Knowledge, known: Sequence[Complaint]) -> tuple[Complaint, ...]:
    """At most six that ``words`` may mean, the nearest first; empty where none is near.

    Where the words together find nothing, as in a long sentence, each of them is searched for alone.
    """
    told = words[:_LONGEST]
    near = _scores(told, knowledge, known) or _scores_by_word(told, knowledge, known)
    best = sorted(near, key=lambda finding: (-near[finding], finding))
    return tuple(c for finding in best for c in known if c.finding == finding)[:SHOWN]


def _scores(words: str, knowledge: Knowledge, known: Sequence[Complaint]) -> dict[str, float]:
    findings = {complaint.finding for complaint in known}
    return {hit.id: hit.score for hit in search(knowledge, words, limit=_ALL) if hit.id in findings}


def _scores_by_word(words: str, knowledge: Knowledge, known: Sequence[Complaint]) -> dict[str, float]:
    total: dict[str, float] = {}
    for word in dict.fromkeys(words.split()[:_MOST_WORDS]):
        for finding, score in _scores(word, knowledge, known).items() if len(word) >= _LEAST_LETTERS else ():
            total[finding] = total.get(finding, 0.0) + score
    return total


def _take(sitting: Sitting, words: str, offered: Sequence[Complaint]) -> None:
    """Show what the words may mean and record what is chosen, the words beside it."""
    if not offered:
        say("Nothing like it is known. Say it in other words, or l for the whole list.")
        return
    page = Page()
    page.say("Which of these? Numbers of all that fit, or Enter for none.", indent=2)
    for number, complaint in enumerate(offered, start=1):
        page.say(complaint.text, indent=4, marker=f"{number}.")
    page.print()
    for chosen in _chosen(offered):
        sitting.ask_all(sitting.record(chosen.finding, chosen.state, note=words))


def _chosen(offered: Sequence[Complaint]) -> Sequence[Complaint]:
    while True:
        typed = prompt("> ")
        if wish_of(typed) is Wish.STOP:
            raise Stopped
        numbers = typed.replace(",", " ").split()
        if all(number.isdecimal() and 1 <= int(number[:4]) <= len(offered) for number in numbers):
            return [offered[int(number) - 1] for number in dict.fromkeys(numbers)]
        say(f"Numbers from 1 to {len(offered)}, or Enter for none of them.")


def _each(knowledge: Knowledge) -> Iterator[Complaint]:
    for finding in knowledge.findings.values():
        for state in finding.states[1:] if finding.complaint else ():
            yield Complaint(finding.id, state, _text(finding, state))


def _text(finding: Finding, state: str) -> str:
    plain = len(finding.states) == 2 and state not in finding.words
    return finding.name if plain else f"{finding.name}: {word_of(finding, state)}"
