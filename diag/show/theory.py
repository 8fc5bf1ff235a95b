"""A theory on trial: how well it holds, who rivals it, and what weighs between them, in words and for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from diag.explain.judgement import Judgement
from diag.explain.stated import Theory
from diag.explain.theory import Link, Rival, Trial
from diag.plan import DecidingActs
from diag.session import Session
from diag.show.as_json import plain
from diag.show.chain import chain_words, effect_words
from diag.show.deciding import act_data, add_acts
from diag.show.judgement import add_judgement, judgement_data
from diag.show.names import ADVICE, add_standing, asked, cause_name
from diag.show.page import Page
from diag.show.weights import FELT, spoken, weights_data
from diag.show.words import chance, likelihood, odds, per_cent

MOST_WEIGHTS = 5


@dataclass(frozen=True)
class Judged:
    """A theory, what came of it, what would decide it, and whose it is."""

    trial: Trial
    acts: DecidingActs
    by: str
    judgement: Judgement | None = None


def theories_data(session: Session, judged: Sequence[Judged]) -> dict[str, Any]:
    """The fields of ``diag theory --json``: every theory, and those of the first one beside them."""
    told = [theory_data(session, one) for one in judged]
    chains = [plain(chain) for chain in session.chains]
    return {"file": session.case.file, **(told[0] if told else {}), "theories": told, "explanations": chains}


def theories_page(session: Session, judged: Sequence[Judged], numbers: bool) -> Page:
    """Every theory in words."""
    page = Page(imperial=session.settings.imperial)
    page.title(f"{session.case.vehicle} ({session.case.file})")
    add_standing(page, session)
    if not judged:
        page.say("No theory is recorded. Put one on trial: diag theory FILE CAUSE [EFFECT ...] [not:ID ...]")
    for one in judged:
        add_theory(page, session, one, numbers)
    _add_chains(page, session, numbers)
    page.blank()
    page.say(ADVICE)
    return page


def _add_chains(page: Page, session: Session, numbers: bool) -> None:
    page.title("The whole case, as it most likely went; then what really differs from it")
    if not session.chains:
        page.say("Too many faults may be there together here: the likeliest course cannot be told exactly.", 1)
        return
    page.say(
        "Each is one course in all its steps. A cause that may have gone many ways can stand lower here than in "
        "'diag causes'.",
        1,
    )
    for place, chain in enumerate(session.chains, start=1):
        figure = f" [{per_cent(chain.probability)}]" if numbers else ""
        page.say(f"{chain_words(session, chain)}{figure}", 1, f"{place}.")


def theory_data(session: Session, judged: Judged) -> dict[str, Any]:
    """One theory for programs."""
    trial, acts = judged.trial, judged.acts
    return {
        "theory": {"id": trial.theory.cause, **plain(trial.theory), "by": judged.by},
        "probability": trial.probability,
        "prior": trial.prior,
        "stages": trial.stages,
        "chain": plain(trial.chain),
        "rivals": [_rival_data(session, rival) for rival in trial.rivals],
        "bayes_factor": trial.bayes_factor,
        "decibans": trial.decibans,
        "evidence": weights_data(session, trial.evidence),
        "unexplained": dict(trial.unexplained),
        "weakest_link": plain(trial.weakest),
        "deciding_questions": [act_data(session, act) for act in acts.questions],
        "deciding_tests": [act_data(session, act) for act in acts.tests],
        **({"judgement": judgement_data(session, judged.judgement)} if judged.judgement else {}),
    }


def _rival_data(session: Session, rival: Rival) -> dict[str, Any]:
    told = plain(rival)
    return {"id": told.pop("cause"), "name": cause_name(session.knowledge, rival.cause), **told}


def add_theory(page: Page, session: Session, judged: Judged, numbers: bool) -> None:
    """One theory in words."""
    trial = judged.trial
    whose = f" ({judged.by})" if judged.by else ""
    page.title(f"Theory{whose}: {theory_words(session, trial.theory)}")
    figure = f" [{per_cent(trial.probability)}, {per_cent(trial.prior)} before anything was found]" if numbers else ""
    p = trial.probability
    page.say(f"{likelihood(p).capitalize()}: {chance(p)}, {odds(p)}{figure}.", 1)
    if trial.stages < session.observations.stage:
        page.say("Judged by what was found before the first repair.", 1)
    if trial.chain:
        page.say(f"As it most likely went, were it right: {chain_words(session, trial.chain)}.", 1)
    _add_rivals(page, session, trial, numbers)
    _add_weights(page, session, trial, numbers)
    _add_weak(page, session, trial)
    add_acts(page, session, judged.acts, numbers)
    if judged.judgement:
        add_judgement(page, session, judged.judgement, numbers)


def theory_words(session: Session, theory: Theory) -> str:
    """It began with this; then that; not there is this."""
    told = f"it began with '{cause_name(session.knowledge, theory.cause)}'"
    if theory.followed:
        told += f"; then came: {', '.join(_name(session, id) for id in theory.followed)}"
    if theory.absent:
        told += f"; not there: {', '.join(_name(session, id) for id in theory.absent)}"
    return told


def _name(session: Session, id: str) -> str:
    effect = session.knowledge.effects.get(id)
    return effect.name if effect else cause_name(session.knowledge, id)


def _add_rivals(page: Page, session: Session, trial: Trial, numbers: bool) -> None:
    page.say("Its rivals, each without its cause and with what is likeliest of the same things:", 1)
    for place, rival in enumerate(trial.rivals, start=1):
        figure = f" [{per_cent(rival.probability)}, Bayes factor {rival.bayes_factor:.3g}]" if numbers else ""
        name = chain_words(session, rival.chain) if rival.chain else cause_name(session.knowledge, rival.cause)
        page.say(f"{name} ({rival.cause}){_lacking(session, rival)}.", 2, f"{place}.")
        speaks = f"What was found speaks {_verdict(rival.bayes_factor)}"
        page.say(f"{chance(rival.probability).capitalize()}. {speaks}{figure}.{_parted(session, trial, rival)}", 5)


def _parted(session: Session, trial: Trial, rival: Rival) -> str:
    pair = {trial.theory.cause, rival.cause}
    alike = any(pair <= set(group) for group in session.twins)
    return " No open test can tell the two causes apart." if alike else ""


def _lacking(session: Session, rival: Rival) -> str:
    """What the theory speaks of and this rival has not; that it has not the theory's cause goes without saying."""
    missing = [id for id, there in list(rival.statements.items())[:-1] if not there]
    return "".join(f", {_absent(session, id)}" for id in missing)


def _absent(session: Session, id: str) -> str:
    effect = session.knowledge.effects.get(id)
    if effect and len(effect.states) > 2:
        return effect_words(session, id, effect.states[0])
    return f"without {_name(session, id)}"


def _verdict(bayes_factor: float) -> str:
    """The Bayes factor as a bet."""
    bet = odds(bayes_factor / (1 + bayes_factor))
    return "for neither of the two" if bet == "evens" else f"{bet} the theory"


def _add_weights(page: Page, session: Session, trial: Trial, numbers: bool) -> None:
    felt = [w for w in trial.evidence if numbers or abs(w.decibans) >= FELT][: None if numbers else MOST_WEIGHTS]
    rival = cause_name(session.knowledge, trial.rivals[0].cause)
    page.say(f"What weighs between it and its first rival ({rival}):", 1)
    for weight in felt:
        side = "for it" if weight.decibans > 0 else "against it"
        page.say(f"{side}: {spoken(session, weight, numbers)}", 2, "-")
    if not felt:
        page.say("no single finding of weight", 2, "-")
    alone = sum(w.decibans for w in trial.evidence)
    figure = f" [{trial.decibans:+.1f} decibans together, {alone:+.1f} one by one]" if numbers else ""
    page.say(
        "Each is weighed by leaving it out alone; findings that tell the same share their weight, so one by one they "
        f"do not add up to what all weigh together{figure}.",
        2,
    )


def _add_weak(page: Page, session: Session, trial: Trial) -> None:
    for finding in trial.unexplained:
        name = session.knowledge.findings[finding].name
        page.say(f"It leaves unexplained: {name} ({finding}).", 1)
    if trial.weakest:
        page.say(f"Weakest link: {_weakest(session, trial.weakest)}", 1)


def _weakest(session: Session, link: Link) -> str:
    name = _name(session, link.effect)
    names: Mapping[str, str] = {f: session.knowledge.findings[f].name for f in (*link.shown_by, *link.denied_by)}
    if link.shown_by:
        text = f"'{name}' rests on this alone: {', '.join(names[f] for f in link.shown_by)}."
    else:
        text = f"nothing recorded shows that there ever was: {name}."
    if link.denied_by:
        text += f" Looked for and not seen: {', '.join(names[f] for f in link.denied_by)}."
    text += f" Were the cause right, it would be there {chance(link.probability)}."
    if link.would_show:
        text += f" It would show by: {asked(session.knowledge, link.would_show).name} ({link.would_show})."
    return text
