"""The job sheet to hand over, as plain text in frozen data: what the page and the Markdown are filled with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from diag.case import NOT_FOUND, ConfirmedEntry, RepairEntry, in_force
from diag.plan.gates import GateNow
from diag.plan.ready import OpenCause
from diag.session import Session
from diag.show.as_json import plain
from diag.show.causes import LIKELY_DAMAGE
from diag.show.chain_picture import Picture, picture
from diag.show.names import ADVICE, cause_name
from diag.show.ready import STANDINGS, VERDICTS, coming_back, open_cause
from diag.show.sheet_causes import OtherCause, Suspect, others, suspects
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
class Gate:
    """One gate of the first start: where it stands, and, where it is of use now, how, when to stop, cautions."""

    name: str
    standing: str
    steps: tuple[str, ...]
    stop_at: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BeforeStart:
    """What stands between the vehicle and its first start: the verdict with its reasons, what is apart, damage to look
    for, what may come back, what is open and which test tells on it, gate by gate.
    """

    verdict: str
    why: tuple[str, ...]
    apart: tuple[str, ...]
    damage: tuple[str, ...]
    returns: tuple[str, ...]
    open_causes: tuple[str, ...]
    gates: tuple[Gate, ...]


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
    leader = closed if closed in session.diagnosis.states else session.diagnosis.leader
    began = closed if closed in session.started.states else session.started.leader
    assert leader is not None
    assert began is not None
    course = session.course(began)
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
        chain_title=f"{'As confirmed' if closed == began else 'If it is'}: {cause_name(session.knowledge, began)}",
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
            names = tuple(_repaired(session, id) for id in entry.repair)
            yield RepairDone(names, entry.how_well.replace("_", " "), when, entry.note)


def _repaired(session: Session, id: str) -> str:
    part = session.knowledge.parts.get(id)
    return part.name if part else cause_name(session.knowledge, id)


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
    answer = session.ready
    access = session.knowledge.access
    holds = [access[step] for step, reached in session.observations.access.items() if reached]
    damage = [d for d in session.causes.damage if d.probability >= LIKELY_DAMAGE]
    return BeforeStart(
        verdict=f"Ready to start? {VERDICTS[answer.verdict]}",
        why=answer.why,
        apart=tuple(step.name for step in holds if step.undo_minutes.value > 0),
        damage=tuple(f"{d.name}: {chance(d.probability)}" for d in damage),
        returns=tuple(coming_back(coming, numbers=False) for coming in answer.effects),
        open_causes=tuple(_open(cause) for cause in answer.open_causes),
        gates=tuple(_gate(session, now) for now in answer.gates),
    )


def _open(cause: OpenCause) -> str:
    told = open_cause(cause, numbers=False)
    return f"{told}. Cheapest test now: {cause.test.name}." if cause.test else told


def _gate(session: Session, now: GateNow) -> Gate:
    """How it is done stands beside a gate once something was repaired or the cause is known; before, its name does."""
    gate, hazards = session.knowledge.gates[now.id], session.knowledge.hazards
    close = session.observations.stage > 1 or session.observations.confirmed is not None
    useful = close and now.standing != "passed"
    return Gate(
        name=now.name,
        standing=STANDINGS[now.standing] + (f". {now.why}" if now.why else ""),
        steps=gate.how if useful else (),
        stop_at=gate.stop_at if useful else "",
        cautions=tuple(hazards[hazard].caution for hazard in gate.hazards) if useful else (),
    )
