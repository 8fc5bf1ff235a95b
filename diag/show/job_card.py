"""A test as a job card: what it takes, how it is done, what each outcome would mean, what to beware of."""

from __future__ import annotations

from collections.abc import Iterator

from diag.knowledge.lookup import hazards_of_test
from diag.knowledge.types import Knowledge, TestEntry
from diag.plan import OutcomePreview, Proposal
from diag.session import Session
from diag.show.names import asked, cause_name, file_argument, word
from diag.show.page import Page
from diag.show.reading_model import example
from diag.show.words import chance, duration, money, per_cent, tells

OUTCOMES = 4  # the likeliest joint outcomes of a test; the rest comes in once it is recorded
BESIDE = 3
WORTH_SAYING = 0.5  # of the user's currency; less is no more than rounding
SKILLS = {1: "anyone can do it", 2: "needs some practice", 3: "needs a trained person"}


def cautions(knowledge: Knowledge, test: TestEntry, proposal: Proposal) -> Iterator[tuple[str, str]]:
    """Hazards of the test and of the way to it: (id, caution)."""
    for hazard in hazards_of_test(knowledge, test, proposal.way.steps):
        yield hazard, knowledge.hazards[hazard].caution


def figures(proposal: Proposal, numbers: bool) -> str:
    """Bits, cost and score for those who asked for numbers."""
    if not numbers:
        return ""
    return f" [{proposal.gain_bits:.3f} bits, cost {proposal.cost:.2f}, score {proposal.score:.4f}]"


def told_in_brief(session: Session, proposal: Proposal) -> str:
    """What a test tells and takes, in a line."""
    waiting = f", {duration(proposal.waiting)} of waiting" if proposal.waiting >= 1 else ""
    steps = [session.knowledge.access[step].name for step in proposal.way.steps]
    first = f", first: {', '.join(steps)}" if steps else ""
    harm = f", may do harm counted as {proposal.harm:.0f}" if proposal.harm >= WORTH_SAYING else ""
    takes = f"{duration(proposal.minutes)}{waiting}, {money(proposal.money)}{harm}"
    return f"{tells(proposal.gain_bits)}, {takes}{first}"


def add_job_card(page: Page, session: Session, proposal: Proposal, numbers: bool) -> None:
    """The card of one test, cautions before the work."""
    test = session.knowledge.tests[proposal.id]
    waiting = f" and {duration(proposal.waiting)} of waiting" if proposal.waiting >= 1 else ""
    takes = f"{duration(proposal.minutes)}{waiting}, {money(proposal.money)}, {SKILLS[test.skill]}"
    page.say(f"{tells(proposal.gain_bits).capitalize()}. It takes {takes}.{figures(proposal, numbers)}", 2)
    _add_needs(page, session, test, proposal)
    for _, caution in cautions(session.knowledge, test, proposal):
        page.tell(caution, 2, "!")
    page.say("How:", 2)
    for place, step in enumerate(test.how, start=1):
        page.tell(step, 4, f"{place}.")
    if test.misleads:
        page.tell(f"What makes it lie: {test.misleads}", 2)
    _add_outcomes(page, session, test, proposal, numbers)


def _add_needs(page: Page, session: Session, test: TestEntry, proposal: Proposal) -> None:
    access = session.knowledge.access
    to_do = [f"{access[step].name} ({step})" for step in proposal.way.steps]
    done = [access[step].name for step in test.access if session.observations.access.get(step)]
    back = [f"{access[step].name} ({step}=no)" for step in proposal.way.undone]
    if back:
        page.say(f"Undo first: {', then '.join(back)}.", 2)
    if to_do:
        page.say(f"First: {', then '.join(to_do)}.", 2)
    if done:
        page.say(f"Done already: {', '.join(done)}.", 2)
    tools = ", ".join(tool.replace("_", " ") for tool in test.tools)
    page.say(f"Tools: {tools or 'bare hands'}.", 2)
    beside = [session.knowledge.tests[other].name for other in proposal.beside[:BESIDE]]
    if beside:
        page.say(f"Almost free while it is so: {'; '.join(beside)}.", 2)
    if proposal.harm >= WORTH_SAYING:
        page.say(f"It can do harm if the worst is true; that is counted as {proposal.harm:.0f} in its cost.", 2)


def _add_outcomes(page: Page, session: Session, test: TestEntry, proposal: Proposal, numbers: bool) -> None:
    findings = list(proposal.outcomes[0].findings)
    page.say("What it may show, and who would lead then:", 2)
    if len(findings) == 1:
        for outcome in proposal.outcomes:
            (state,) = outcome.findings.values()
            page.tell(f"{findings[0]}={state} - {_looks(session, test, findings[0], state)}", 4, "-")
            page.say(_then(session, outcome, numbers), 8)
    else:
        _add_joint_outcomes(page, session, test, proposal, numbers)
    told = [f"{finding}={state}" for finding, state in proposal.outcomes[0].findings.items()]
    words = " ".join([file_argument(session), *_stays(session, proposal), *told])
    page.say(f"Record it, for example: diag record {words}", 2)
    models = (session.knowledge.findings[finding].reading for finding in findings)
    figures = " ".join(example(model) for model in models if model)
    if figures:
        page.say(f"A figure tells more than pass or fail: diag record {file_argument(session)} {figures}", 2)


def _stays(session: Session, proposal: Proposal) -> list[str]:
    """Steps that last until somebody undoes them (a cap that is off), told so that the next plan counts on them."""
    access = session.knowledge.access
    return [f"{step}=yes" for step in proposal.way.steps if access[step].undo_minutes.value > 0]


def _add_joint_outcomes(page: Page, session: Session, test: TestEntry, proposal: Proposal, numbers: bool) -> None:
    for finding in proposal.outcomes[0].findings:
        for state in asked(session.knowledge, finding).states:
            page.tell(f"{finding}={state} - {_looks(session, test, finding, state)}", 4, "-")
    page.say("Together:", 4)
    for outcome in proposal.outcomes[:OUTCOMES]:
        page.say(" ".join(f"{finding}={state}" for finding, state in outcome.findings.items()), 4, "-")
        page.say(_then(session, outcome, numbers), 8)
    if len(proposal.outcomes) > OUTCOMES:
        page.say(f"and {len(proposal.outcomes) - OUTCOMES} rarer outcomes", 4, "-")


def _looks(session: Session, test: TestEntry, finding: str, state: str) -> str:
    return test.outcomes.get(finding, {}).get(state) or word(session.knowledge, finding, state)


def _then(session: Session, outcome: OutcomePreview, numbers: bool) -> str:
    figure = f" [{per_cent(outcome.probability)} -> {per_cent(outcome.leader_probability)}]" if numbers else ""
    leads = f"{cause_name(session.knowledge, outcome.leader)}, {chance(outcome.leader_probability)}"
    return f"comes {chance(outcome.probability)}, then leads: {leads}{figure}"
