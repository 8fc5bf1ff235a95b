"""What must hold for names and texts: questions, cautions, former ids, words with a meaning of their own."""

from __future__ import annotations

import re

from diag.knowledge.types import Knowledge
from diag.knowledge.walk import SECTIONS, entries, section, texts
from diag.text import Problem, did_you_mean

# Answers to any question, beside the states of its finding.
RESERVED_STATES = ("unsure", "gone", "skip", "none_of_these")

# In a text for people a word joined by _ is the id of an entry, most often of a reference.
_ID_IN_TEXT = re.compile(r"\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b")


def named_ids(knowledge: Knowledge) -> list[Problem]:
    """An id that a text names is there."""
    known = {name for part in SECTIONS for name in section(knowledge, part)}
    return [
        Problem(
            entry.mark,
            "unknown-id",
            f"a text of {entry.id} names {word!r}, which is not there.",
            did_you_mean(word, known) or "Write the entry, or say it in plain words.",
        )
        for entry, text in texts(knowledge)
        for word in _ID_IN_TEXT.findall(text)
        if word not in known
    ]


def questions(knowledge: Knowledge) -> list[Problem]:
    """Every finding has a question: it is what a person reads."""
    hint = "Write it so that the ordinary answer is a no."
    return [
        Problem(finding.mark, "finding-without-question", f"{finding.id} has no question.", hint)
        for finding in knowledge.findings.values()
        if not finding.question
    ]


def cautions(knowledge: Knowledge) -> list[Problem]:
    """Every hazard has its caution: somebody can get hurt."""
    hint = "Say what to do so that nobody gets hurt."
    return [
        Problem(hazard.mark, "hazard-without-caution", f"{hazard.id} has no caution.", hint)
        for hazard in knowledge.hazards.values()
        if not hazard.caution
    ]


def former_ids(knowledge: Knowledge) -> list[Problem]:
    """The old id of a renamed entry is used by nothing else."""
    owners = {entry.id: entry.id for entry in entries(knowledge)}
    problems = []
    for entry in entries(knowledge):
        for former in entry.formerly:
            if owners.setdefault(former, entry.id) != entry.id or former == entry.id:
                message = f"{entry.id}: the former id {former!r} belongs to {owners[former]}."
                problems.append(Problem(entry.mark, "id-used-twice", message, "An id is never used again."))
    return problems


def reserved_states(knowledge: Knowledge) -> list[Problem]:
    """No state is called like an answer that fits every question."""
    return [
        Problem(finding.mark, "reserved-word", f"{finding.id}: {state!r} means something else.", "Rename it.")
        for finding in knowledge.findings.values()
        for state in finding.states
        if state in RESERVED_STATES
    ]


def repairs_mend_faults(knowledge: Knowledge) -> list[Problem]:
    """Only what stays until repaired has a repair: a cause or a damage, never a mechanism."""
    hint = "Put it at the cause, or make the effect a damage."
    return [
        Problem(effect.repair.mark, "repair-of-mechanism", f"{effect.id} passes by itself.", hint)
        for effect in knowledge.effects.values()
        if effect.repair and effect.kind == "mechanism"
    ]
