"""What the interview says between two prompts, as pages. Nothing is asked and nothing is computed here."""

from __future__ import annotations

from collections.abc import Sequence

from diag.cli.interview_answer import Asked, word_of
from diag.explain import CauseList
from diag.knowledge.types import Knowledge, TestEntry
from diag.plan import Proposal, Ranking
from diag.session import Session
from diag.show.job_card import cautions, told_in_brief
from diag.show.names import ADVICE, cause_name
from diag.show.page import Page
from diag.show.words import chance, tells

LEADERS = 4  # causes shown after each answer
FIRST_HAZARDS = ("scald", "quench")
# A probability has moved where its odds changed by a quarter, and moved much where they doubled (or the reverse).
MOVED = 1.25
MOVED_MUCH = 2.0
_COUNT = {1: "this", 2: "these two", 3: "these three", 4: "these four"}

HELP = (
    "Answer by the word, its first letters or its number. Put u before it when unsure: u yes.",
    "d  don't know      g  gone, can never be seen now      c  can't do that here",
    "b  back, take the last answer back      s  stop; all answers are in the file",
)


def opening(knowledge: Knowledge) -> Page:
    """What not to do now, and how to answer."""
    page = Page()
    page.title("Before anything else")
    page.say("Never open a hot system, and do not start it again just to make it hot.", marker="-")
    for hazard in FIRST_HAZARDS:
        if hazard in knowledge.hazards:
            page.say(knowledge.hazards[hazard].caution, marker="-")
    page.title("How to answer")
    for line in HELP:
        page.say(line)
    return page


def batch(questions: Sequence[Proposal]) -> Page:
    """The heading of some questions that cost nothing but a minute each."""
    page = Page()
    page.blank()
    page.say(f"Ask {_COUNT.get(len(questions), 'these')} now; it takes a minute each", style="bold")
    for proposal in questions:
        page.say(f"{proposal.name} ({tells(proposal.gain_bits)})", indent=2, marker="-")
    return page


def question(asked: Asked, condition: Sequence[str]) -> Page:
    """One question and its numbered answers; ``condition`` are names of what must hold."""
    page = Page()
    page.blank()
    page.say(asked.question, marker="?")
    if condition:
        page.say(f"(only with: {', '.join(condition)}; else d)", indent=2)
    answers = (f"{n} {word_of(asked, state)}" for n, state in enumerate(asked.states, start=1))
    page.say("   ".join(answers), indent=2)
    return page


def test_card(session: Session, proposal: Proposal) -> Page:
    """A test as a job card without the figures of its outcomes, which would lead the eye."""
    test = session.knowledge.tests[proposal.id]
    page = Page()
    page.blank()
    page.say(f"Do this next: {test.name}", style="bold")
    page.say(f"{told_in_brief(session, proposal)}.")
    page.say(f"Tools: {', '.join(tool.replace('_', ' ') for tool in test.tools) or 'bare hands'}.")
    for _, caution in cautions(session.knowledge, test, proposal):
        page.tell(caution, marker="!")
    for number, line in enumerate(test.how, start=1):
        page.tell(line, indent=2, marker=f"{number}.")
    if test.misleads:
        page.tell(f"What makes it lie: {test.misleads}")
    page.say("Do it, then answer; c leaves this test out for today.")
    return page


def outcomes(test: TestEntry, asked: Asked) -> Page:
    """What each answer to ``asked`` looks like in this test."""
    page = Page()
    for state, looks in test.outcomes.get(asked.id, {}).items():
        page.say(f"{word_of(asked, state)}: {looks}", indent=2, marker="-")
    return page


def likely(before: CauseList | None, now: CauseList) -> Page:
    """The likeliest causes and how each moved."""
    page = Page()
    was = {cause.id: cause.probability for cause in before.causes} if before else {}
    page.say("Likely now:", indent=2)
    for number, cause in enumerate(now.causes[:LEADERS], start=1):
        moved = _moved(was[cause.id], cause.probability) if cause.id in was else ""
        page.say(f"{cause.name}, {chance(cause.probability)}{moved}", indent=4, marker=f"{number}.")
    return page


def finished(session: Session, file: str) -> Page:
    """Why nothing more is asked, how the leading cause is proved, and the commands that go on from here."""
    page = Page()
    page.blank()
    if session.observations.confirmed:
        page.say(f"This case is closed: {session.observations.confirmed} is confirmed.", style="bold")
    else:
        _stop_advised(page, session, file)
    page.say("The whole picture, and the sheet to hand over:")
    page.say(f"diag causes {file}", indent=4)
    page.say(f"diag report {file} -o sheet.html", indent=4)
    page.say(ADVICE)
    return page


def _stop_advised(page: Page, session: Session, file: str) -> None:
    leader = session.diagnosis.leader
    page.say("Stop testing here", style="bold")
    page.say(f"{session.ranking.stop.why.replace(leader, cause_name(session.knowledge, leader), 1)}.")
    known = session.knowledge.causes.get(leader)
    if known is not None and known.proved_by:
        page.say(f"Proof of '{known.name}': {known.proved_by}")
    page.say("Once it has been seen:")
    page.say(f"diag confirm {file} {leader if known else 'not_found'}", indent=4)


def stopped(file: str) -> Page:
    """Nothing is lost, and how to go on."""
    page = Page()
    page.blank()
    page.say(f"Stopped. Every answer is in {file}. Go on with: diag interview {file}")
    return page


def nothing_left(ranking: Ranking, left_out: int) -> Page:
    """Why nothing more is asked although testing is not done."""
    page = Page()
    page.blank()
    page.say("Nothing left to ask now", style="bold")
    if left_out:
        page.say(f"{left_out} questions or tests were left open today; a new start asks them again.")
    for locked in ranking.locked[:LEADERS]:
        page.say(f"{locked.name}: {locked.why}; {locked.way_out}.", marker="-")
    return page


def _moved(before: float, now: float) -> str:
    ratio = _odds(now) / _odds(before)
    if 1 / MOVED < ratio < MOVED:
        return ""
    much = "much " if not 1 / MOVED_MUCH < ratio < MOVED_MUCH else ""
    return f" ({much}{'up' if ratio > 1 else 'down'})"


def _odds(p: float) -> float:
    return max(p, 1e-12) / max(1 - p, 1e-12)
