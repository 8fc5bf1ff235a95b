"""The job sheet to hand over, as plain text in frozen data: what the page and the Markdown are filled with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from diag.case import NOT_FOUND, ConfirmedEntry, RepairEntry, in_force
from diag.session import Session
from diag.show.as_json import plain
from diag.show.causes import LIKELY_DAMAGE
from diag.show.chain_picture import Picture, picture
from diag.show.names import ADVICE, cause_name
from diag.show.sheet_causes import OtherCause, Suspect, open_causes, others, suspects
from diag.show.sheet_findings import Answered, DoneTest, answers, beside, complaint, done_tests, taken_back
from diag.show.sheet_sources import Source, grades_in_words, sources
from diag.show.sheet_work import Job, NextTest, Question, next_tests, questions, repair_job
from diag.show.words import chance


@dataclass(frozen=True, slots=True)
class RepairDone:
    """One repair as it was recorded."""

    names: tuple[str, ...]
    how_well: str
    when: str
    note: str


@dataclass(frozen=True, slots=True)
class Proof:
    """How the case was closed: the cause, what was seen of it, and how such a cause is proved."""

    cause: str
    seen: str
    proved_by: str
    found: bool


@dataclass(frozen=True, slots=True)
class BeforeStart:
    """What stands between the vehicle and its first start: what is apart, damage to look for, how much is open."""

    verdict: str
    apart: tuple[str, ...]
    damage: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on the sheet, in its order."""

    vehicle: str
    file: str
    made: str
    program: str
    knowledge: str
    standing: str
    complaint: tuple[str, ...]
    findings: tuple[Answered, ...]
    taken_back: tuple[Answered, ...]
    beside: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    others: tuple[OtherCause, ...]
    chain_title: str
    chain: Picture | None
    done: tuple[DoneTest, ...]
    questions: tuple[Question, ...]
    tests: tuple[NextTest, ...]
    before_start: BeforeStart
    repairs: tuple[RepairDone, ...]
    repair: Job | None
    proof: Proof | None
    sources: tuple[Source, ...]
    grades: str
    advice: str


def sheet_of(session: Session, now: datetime, program: str) -> Sheet:
    """The sheet of a case as it stands. Raises ImpossibleEvidence."""
    closed = session.observations.confirmed
    leader = closed if closed in session.diagnosis.case.states else session.diagnosis.leader
    assert leader is not None
    course = session.course(leader)
    tests = () if closed else next_tests(session)
    sheet = Sheet(
        vehicle=session.case.vehicle,
        file=session.case.file,
        made=f"{now:%Y-%m-%d %H:%M}",
        program=program,
        knowledge=session.knowledge.version,
        standing=_standing(session),
        complaint=complaint(session),
        findings=answers(session),
        taken_back=taken_back(session),
        beside=beside(session),
        suspects=suspects(session),
        others=others(session),
        chain_title=f"{'As confirmed' if closed == leader else 'If it is'}: {cause_name(session.knowledge, leader)}",
        chain=picture(session.knowledge, course) if course else None,
        done=done_tests(session),
        questions=() if closed else questions(session),
        tests=tests,
        before_start=_before_start(session),
        repairs=tuple(_repairs(session)),
        repair=repair_job(session, leader),
        proof=_proof(session),
        sources=(),
        grades=grades_in_words(session.knowledge),
        advice=ADVICE,
    )
    return replace(sheet, sources=sources(session, [leader, *(test.id for test in tests)], plain(sheet)))


def _standing(session: Session) -> str:
    confirmed = session.observations.confirmed
    if confirmed is None:
        return "The cause is not confirmed yet."
    if confirmed == NOT_FOUND:
        return "Closed; the cause was not found."
    return f"Confirmed cause: {cause_name(session.knowledge, confirmed)}."


def _repairs(session: Session) -> Iterator[RepairDone]:
    for entry in in_force(session.case):
        if isinstance(entry, RepairEntry):
            when = f"{entry.time[:10]}{', before this case began' if entry.before_case else ''}"
            yield RepairDone(tuple(_repaired(session, id) for id in entry.repair), entry.how_well, when, entry.note)


def _repaired(session: Session, id: str) -> str:
    effect = session.knowledge.effects.get(id)
    return effect.name if effect else cause_name(session.knowledge, id)


def _proof(session: Session) -> Proof | None:
    told = [entry for entry in in_force(session.case) if isinstance(entry, ConfirmedEntry)]
    if not told:
        return None
    confirmed = session.observations.confirmed or told[-1].confirmed
    cause = session.knowledge.causes.get(confirmed)
    name = cause.name if cause else "the cause was not found"
    return Proof(name, told[-1].seen, cause.proved_by if cause else "", cause is not None)


def _before_start(session: Session) -> BeforeStart:
    """Until the vehicle starts again: put together what is apart, look for damage, close what is open."""
    access = session.knowledge.access
    holds = [access[step] for step, reached in session.observations.access.items() if reached]
    damage = [d for d in session.causes.damage if d.probability >= LIKELY_DAMAGE]
    return BeforeStart(
        verdict=_verdict(session),
        apart=tuple(step.name for step in holds if step.undo_minutes.value > 0),
        damage=tuple(f"{d.name}: {chance(d.probability)}" for d in damage),
    )


def _verdict(session: Session) -> str:
    if session.observations.confirmed in session.knowledge.causes:
        return "The cause is confirmed. Look for the damage below, put together what is apart, then start it."
    return (
        f"The cause is not confirmed: {len(open_causes(session))} causes are still open, named under 'Likely causes'."
    )
