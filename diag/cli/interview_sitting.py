"""One sitting of the interview: it asks, writes each answer into the file at once, and asks again.

The file is all that lasts. What lasts only for the sitting: what was left open today, and the way back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from diag.case import Case, Entry, FindingEntry, UndoEntry, append, as_entries, in_force, last_in_force
from diag.case import load as load_case
from diag.cli import interview_screen as screen
from diag.cli.interview_answer import Asked, Told, Unclear, Wish, understand, wish_of
from diag.explain import CauseList
from diag.knowledge.types import Finding, Fitting, Knowledge
from diag.network.inference import ImpossibleEvidence
from diag.plan import Proposal
from diag.session import Session
from diag.show.contradiction import contradiction_problem
from diag.show.page import Page
from diag.text import ProblemsFound


class Stopped(Exception):
    """The person wants to stop."""


@dataclass(frozen=True, slots=True)
class Step:
    """One prompt that was answered: what was asked, the entry it wrote (0: none), what it left open."""

    asked: str
    entry: int = 0
    left_open: frozenset[str] = frozenset()


class Sitting:
    """The case in a file and a person at the prompt. Methods that ask raise Stopped, EOFError or ProblemsFound."""

    def __init__(self, path: Path, knowledge: Knowledge) -> None:
        self.path = path
        self.knowledge = knowledge
        self.session = Session.of(load_case(path), knowledge)
        self.left_open: set[str] = set()
        self._steps: list[Step] = []

    @property
    def has_complaint(self) -> bool:
        """Whether it is told what brought the vehicle in."""
        return any(isinstance(entry, FindingEntry) and entry.complaint for entry in in_force(self.session.case))

    @property
    def sure(self) -> bool:
        """Whether the leader is as sure as wanted."""
        causes = self.causes
        return causes is not None and causes.causes[0].probability >= self.session.settings.certainty

    @property
    def causes(self) -> CauseList | None:
        """The likely causes; None where the answers contradict each other."""
        try:
            return self.session.causes
        except ImpossibleEvidence:
            return None

    def ask_all(self, asked: Iterable[str], test: str = "") -> None:
        """Ask one after the other, findings of ``test`` where it is given; back asks what came before again."""
        waiting = list(asked)
        while waiting and not (self.sure and not test):
            reply = self._reply(self._entry(waiting[0]), test)
            if reply is Wish.BACK:
                waiting[:0] = self.back()
            elif reply is Wish.CANNOT and test:
                self._leave_open(waiting[0], test, *waiting)
                return
            elif isinstance(reply, Told):
                waiting[:1] = self.record(waiting[0], reply.text)
            else:
                self._leave_open(waiting[0], look_at(waiting[0]) if test else waiting[0])
                waiting.pop(0)

    def record(self, asked: str, text: str, note: str = "") -> list[str]:
        """Write an answer, show what it did; gives what is to be asked again, should it contradict the others."""
        before = self.causes if self.has_complaint else None
        self._steps.append(Step(asked, self._write(f"{asked}={text}", note)))
        again = self._possible_again()
        if self.has_complaint and not again:
            screen.likely(before, self.session.causes).print()
        return again

    def settle(self) -> None:
        """Where the answers of the file contradict each other: ask again what is taken back, until they do not."""
        self.ask_all(self._possible_again())

    def back(self) -> list[str]:
        """Take the last step back; gives what was asked in it, to be asked again."""
        if self._steps:
            step = self._steps.pop()
            self.left_open -= step.left_open
        else:
            last = last_in_force(self.session.case)
            if not isinstance(last, FindingEntry):
                say("There is no answer to take back; other entries go back by 'diag undo'.")
                return []
            step = Step(last.finding, last.number)
        if step.entry:
            self._grow([UndoEntry(undo=step.entry)])
            say(f"Taken back: {self._entry(step.asked).name}.")
        return [step.asked]

    def open_findings(self, test: Proposal) -> list[str]:
        """The findings of ``test`` that have no answer yet, in its order; none where it was left out today."""
        if test.id in self.left_open:
            return []
        told = self.session.diagnosis.case.recorded
        reveals = self.knowledge.tests[test.id].reveals
        return [f for f in reveals if f not in told and look_at(f) not in self.left_open]

    def has_fitting(self, fitting: Fitting) -> bool:
        """Whether the vehicle has it: asked once and written down; what is not known counts as there."""
        told = self.session.observations.fitted
        if fitting.id in told or fitting.id in self.left_open:
            return told.get(fitting.id, True)
        say("", fitting.question, "yes   no   d don't know")
        while True:
            plain = prompt("> ").casefold()
            if plain in ("yes", "y", "no", "n"):
                self._write(f"{fitting.id}={'yes' if plain[0] == 'y' else 'no'}", "")
                return plain[0] == "y"
            if wish_of(plain) is Wish.STOP:
                raise Stopped
            if wish_of(plain) is Wish.DONT_KNOW:
                self.left_open.add(fitting.id)
                return True
            say("Answer yes, no or d.")

    def _reply(self, asked: Asked, test: str) -> Told | Wish:
        """An answer or a wish other than help, asked for until it is understood."""
        screen.question(asked, () if test else self._condition(asked)).print()
        if test:
            screen.outcomes(self.knowledge.tests[test], asked).print()
        while True:
            reply = understand(prompt("> "), asked)
            if reply is Wish.STOP:
                raise Stopped
            if reply is Wish.HELP:
                say(*screen.HELP)
            elif isinstance(reply, Unclear):
                say(reply.why)
            else:
                return reply

    def _condition(self, asked: Asked) -> list[str]:
        condition = asked.condition if isinstance(asked, Finding) else ()
        return [self.knowledge.access[c].name if c in self.knowledge.access else c for c in condition]

    def _entry(self, asked: str) -> Asked:
        return self.knowledge.findings.get(asked) or self.knowledge.history[asked]

    def _write(self, assignment: str, note: str) -> int:
        """Append to the file; gives the number of the entry."""
        entries, problems = as_entries(self.session.case, self.knowledge, [assignment], note=note)
        if not entries:
            raise ProblemsFound(problems)
        return self._grow(entries).last_number

    def _grow(self, entries: Sequence[Entry]) -> Case:
        case = append(self.path, entries, knowledge=self.knowledge.version)
        self.session = Session.of(case, self.knowledge)
        return case

    def _leave_open(self, asked: str, *what: str) -> None:
        fresh = frozenset(what) - self.left_open
        self.left_open |= fresh
        self._steps.append(Step(asked, left_open=fresh))

    def _possible_again(self) -> list[str]:
        """Offer the way back while the answers contradict each other; gives what is to be asked again."""
        again: list[str] = []
        while self.causes is None:
            say("", contradiction_problem(self.session).message)
            wish = wish_of(prompt("b takes the last answer back, s stops: "))
            if wish is Wish.STOP:
                raise Stopped
            if wish is Wish.BACK:
                again[:0] = self.back()
        return again


def look_at(finding: str) -> str:
    """What ``left_open`` holds where somebody looked and still could not say."""
    return f"look/{finding}"


def prompt(lead: str) -> str:
    """One line as it was typed, without blanks at its ends. Raises EOFError at the end of the input."""
    return input(lead).strip()


def say(*lines: str) -> None:
    """A few lines on the screen."""
    page = Page()
    for line in lines:
        page.say(line, indent=2)
    page.print()
