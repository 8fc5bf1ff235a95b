"""What a person asks of the plan by ids; an unknown id is answered with the nearest known ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diag.network.about import gains_about
from diag.network.diagnosis import Diagnosis
from diag.network.inference import TooManyOutcomes
from diag.plan.last_look import LastLook, last_look, steps_before
from diag.plan.ranking import Ranking, rank
from diag.plan.settings import Settings
from diag.text import Mark, Problem, ProblemsFound, did_you_mean

ARGUMENT = Mark("argument", 1, 1)


def rank_about(diagnosis: Diagnosis, settings: Settings, about: Sequence[str]) -> Ranking:
    """The ranking by what acts tell about other things: ids of causes, effects and findings. Raises ProblemsFound."""
    knowledge = diagnosis.case.knowledge
    known = (*knowledge.effects, *knowledge.findings, *diagnosis.case.causes)
    wrong = [_unknown(id, known, "a cause, an effect or a finding") for id in about if id not in known]
    if wrong:
        raise ProblemsFound(wrong)
    try:
        gains = gains_about(diagnosis, about)
    except TooManyOutcomes as error:
        raise ProblemsFound([Problem(ARGUMENT, "too-many-at-once", f"{error}.", "Ask about fewer.")]) from error
    return rank(diagnosis, settings, gains)


def look_before(diagnosis: Diagnosis, settings: Settings, step: str) -> LastLook:
    """What to see and keep before an access step or a repair. Raises ProblemsFound."""
    known = steps_before(diagnosis.case.knowledge)
    if step not in known:
        raise ProblemsFound([_unknown(step, known, "an access step, or a cause or damage that is repaired")])
    return last_look(diagnosis, settings, step)


def _unknown(id: str, known: Iterable[str], wanted: str) -> Problem:
    hint = did_you_mean(id, known) or "Look for it by 'diag find WORDS'."
    return Problem(ARGUMENT, "unknown-id", f"there is no '{id}'; {wanted} is expected here.", hint)
