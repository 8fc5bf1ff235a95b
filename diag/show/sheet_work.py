"""Work on the sheet: what to ask and test next, and the repair, each with its steps and its cautions."""

from __future__ import annotations

from dataclasses import dataclass

from diag.plan import Proposal
from diag.plan.access import way_to
from diag.session import Session
from diag.show.job_card import SKILLS, cautions
from diag.show.names import asked, word
from diag.show.words import duration, money, tells

QUESTIONS = 4
TESTS = 3


@dataclass(frozen=True, slots=True)
class Question:
    """A question worth asking, and the answers it may have."""

    id: str
    text: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """Work: what it takes, what must be done first, cautions, steps."""

    id: str
    name: str
    takes: str
    first: tuple[str, ...]
    tools: str
    cautions: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test to do next: the work, what it may show, and what makes it lie."""

    id: str
    job: Job
    shows: tuple[str, ...]
    misleads: str


def questions(session: Session) -> tuple[Question, ...]:
    """The questions that tell most for their cost."""
    found = []
    for proposal in session.ranking.questions[:QUESTIONS]:
        entry = asked(session.knowledge, proposal.id)
        told = tuple(word(session.knowledge, entry.id, state) for state in entry.states)
        found.append(Question(entry.id, entry.question, told))
    return tuple(found)


def next_tests(session: Session) -> tuple[NextTest, ...]:
    """The tests that tell most for their cost."""
    return tuple(_next_test(session, proposal) for proposal in session.ranking.tests[:TESTS])


def _next_test(session: Session, proposal: Proposal) -> NextTest:
    test = session.knowledge.tests[proposal.id]
    waiting = f" and {duration(proposal.waiting)} of waiting" if proposal.waiting >= 1 else ""
    job = Job(
        id=test.id,
        name=test.name,
        takes=f"{tells(proposal.gain_bits)}; {duration(proposal.minutes)}{waiting}, {money(proposal.money)}, "
        f"{SKILLS[test.skill]}",
        first=tuple(session.knowledge.access[step].name for step in proposal.way.steps),
        tools=", ".join(tool.replace("_", " ") for tool in test.tools) or "bare hands",
        cautions=tuple(caution for _, caution in cautions(session.knowledge, test, proposal)),
        steps=test.how,
    )
    open_findings = proposal.outcomes[0].findings if proposal.outcomes else {}
    shows = []
    for finding in open_findings:
        for state in asked(session.knowledge, finding).states:
            looks = test.outcomes.get(finding, {}).get(state) or word(session.knowledge, finding, state)
            shows.append(f"{session.knowledge.findings[finding].name}, {state.replace('_', ' ')}: {looks}")
    return NextTest(test.id, job, tuple(shows), test.misleads)


def repair_job(session: Session, cause: str) -> Job | None:
    """The repair of a cause or a damage, from where the vehicle stands; None where no repair is told."""
    knowledge = session.knowledge
    known = knowledge.causes.get(cause) or knowledge.effects.get(cause)
    if known is None or known.repair is None:
        return None
    repair = known.repair
    way = way_to(knowledge, repair.access, session.observations.access)
    minutes = repair.minutes.value + way.minutes + way.undo_minutes
    hazards = [hazard for step in way.steps for hazard in knowledge.access[step].hazards]
    every = dict.fromkeys((*hazards, *known.hazards, *repair.hazards))
    brings = [f"It may bring in: {knowledge.causes[fault].name}. Look for it afterwards." for fault in repair.brings_in]
    return Job(
        id=cause,
        name=repair.name,
        takes=f"{duration(minutes)}, {money(repair.money.value)}",
        first=tuple(knowledge.access[step].name for step in way.steps),
        tools="",
        cautions=tuple(knowledge.hazards[hazard].caution for hazard in every),
        steps=tuple(brings),
    )
