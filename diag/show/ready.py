"""Before the first start, for people and for programs."""

from __future__ import annotations

from typing import Any

from diag.knowledge.types import StartGate
from diag.plan.gates import GateNow
from diag.plan.ready import DAMAGE, DESTROYS, NOT_EXCLUDED, REPAIR, OpenCause, Return
from diag.session import Session
from diag.show.as_json import plain
from diag.show.causes import from_where
from diag.show.names import ADVICE, file_argument, word
from diag.show.page import Page
from diag.show.words import chance, per_cent

SHOWN_CAUSES = 6
VERDICTS = {"not_yet": "Not yet.", "yes_watching": "Yes, by the gates below, watching what is named.", "yes": "Yes."}
STANDINGS = {"passed": "passed", "open": "NOW", "stopped": "STOP", "locked": "locked"}
PARTS = {
    NOT_EXCLUDED: "causes not excluded",
    DAMAGE: "damage not repaired",
    REPAIR: "the repair itself",
}
FELT = 0.02  # a part below this share is not named


def ready_data(session: Session, supposed: bool) -> dict[str, Any]:
    """The fields of ``diag ready --json``."""
    answer = session.ready
    causes = [{**plain(c), "why": dict(c.why), "test": c.test.id if c.test else None} for c in answer.open_causes]
    return {
        "file": session.case.file,
        "supposed": supposed,
        "verdict": answer.verdict,
        "why": list(answer.why),
        "watching": list(answer.watching),
        "effects": plain(answer.effects),
        "open_causes": causes,
        "tests": [{"id": t.id, "name": t.name, "cost": t.cost, "minutes": t.minutes} for t in answer.tests],
        "gates": plain(answer.gates),
    }


def ready_page(session: Session, numbers: bool, supposed: bool) -> Page:
    """Verdict, what may come back, what is open with its test, the gates."""
    answer = session.ready
    page = Page()
    page.title(f"Ready for the first start? {session.case.vehicle} ({session.case.file})")
    if supposed:
        page.say("What if: nothing of this was recorded.", 1)
    if session.observations.stage == 1:
        page.say("No repair is recorded yet (diag repair): this is how it stands unrepaired.", 1)
    page.say(VERDICTS[answer.verdict], 1)
    for reason in answer.why:
        page.say(reason, 3, "-")
    page.title("What may come back, were it started now")
    for coming in answer.effects:
        page.say(coming_back(coming, numbers), 2, "-")
    _add_open(page, session, numbers)
    _add_gates(page, session)
    page.blank()
    page.say(f"Every look is a finding: diag record {file_argument(session)} ID=STATE. {ADVICE}")
    return page


def coming_back(coming: Return, numbers: bool) -> str:
    """A trouble that may come back, how likely, and from where."""
    figure = f" [{per_cent(coming.probability)}]" if numbers else ""
    parts = sorted(((p, PARTS[name]) for name, p in coming.parts.items() if name in PARTS), reverse=True)
    felt = [f"{name}: {chance(p)}" for p, name in parts if p >= FELT]
    return f"{coming.name}: {chance(coming.probability)}{figure}" + (f" ({'; '.join(felt)})" if felt else "")


def _add_open(page: Page, session: Session, numbers: bool) -> None:
    causes = session.ready.open_causes
    page.title("Still open" if causes else "Nothing of weight is open")
    for cause in causes[:SHOWN_CAUSES]:
        page.say(open_cause(cause, numbers), 2, "-")
        if cause.test:
            page.say(f"cheapest test now: {cause.test.name} ({cause.test.id}), {cause.test.minutes:.0f} minutes", 4)
    if len(causes) > SHOWN_CAUSES:
        page.say(f"and {len(causes) - SHOWN_CAUSES} less likely ones: diag causes", 2, "-")


def open_cause(cause: OpenCause, numbers: bool) -> str:
    """What may be there still, how likely, from where, and whether it would undo the repair."""
    figure = f" [{per_cent(cause.probability)}]" if numbers else ""
    told = f"{cause.name} ({cause.id}): {chance(cause.probability)}{figure}"
    why = from_where(dict(cause.why))
    told += f", {why}" if why else ""
    return told + ("; it would undo the repair" if cause.destroys >= DESTROYS else "")


def _add_gates(page: Page, session: Session) -> None:
    page.title("The first start, gate by gate")
    gates = session.knowledge.gates
    for now in session.ready.gates:
        _add_gate(page, session, gates[now.id], now)


def _add_gate(page: Page, session: Session, gate: StartGate, now: GateNow) -> None:
    page.say(f"{now.name} - {STANDINGS[now.standing]}" + (f". {now.why}" if now.why else ""), 2, f"{gate.place}.")
    if now.standing not in ("open", "stopped"):
        return
    for step in gate.how:
        page.say(step, 5, "-")
    page.say(f"Stop at once: {gate.stop_at}", 5)
    wanted = [f"{f}={s}" for f in now.to_see for s in gate.passes[f][:1]]
    if wanted:
        names = [f"{f} ({word(session.knowledge, f, gate.passes[f][0])})" for f in now.to_see]
        page.say(f"To go on: {', '.join(names)} - record: {' '.join(wanted)}", 5)
    for hazard in gate.hazards:
        page.say(session.knowledge.hazards[hazard].caution, 5, "!")
