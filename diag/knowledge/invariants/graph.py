"""What must hold for the whole net of causes, effects and findings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diag.knowledge.types import Effect, Knowledge
from diag.knowledge.walk import links, parents
from diag.text import Mark, Problem

# Child -> the mark of the link that names it, for each parent.
Net = Mapping[str, Mapping[str, Mark]]


def effect_cycles(knowledge: Knowledge) -> list[Problem]:
    """No effect brings itself about, by however many links; what stops an effect comes before it too."""
    hint = "Unroll the feedback: give the later effect a name of its own."
    return _cycles(_effect_net(knowledge), hint)


def access_cycles(knowledge: Knowledge) -> list[Problem]:
    """No access step needs itself first."""
    net = {step.id: dict.fromkeys(step.needs, step.mark) for step in knowledge.access.values()}
    return _cycles(net, "Take one of these out of 'needs'.")


def causes_lead_somewhere(knowledge: Knowledge) -> list[Problem]:
    """A cause brings something about: an effect or a finding."""
    hint = "Write what it leads to or shows."
    return [
        Problem(cause.mark, "cause-without-effect", f"{cause.id} brings nothing about.", hint)
        for cause in knowledge.causes.values()
        if not cause.leads_to and not cause.shows
    ]


def effects_come_from_causes(knowledge: Knowledge) -> list[Problem]:
    """Some cause brings every mechanism about, over whatever effects between."""
    reached = _reached(knowledge)
    hint = "Let a cause, or an effect that comes from one, lead to it."
    return [
        Problem(effect.mark, "effect-without-cause", f"no cause brings {effect.id} about.", hint)
        for effect in _of_kind(knowledge, "mechanism")
        if effect.id not in reached
    ]


def damage_is_reached(knowledge: Knowledge) -> list[Problem]:
    """Some cause can do every damage, over whatever effects between."""
    reached = _reached(knowledge)
    hint = "Let the mechanism that does it lead to it."
    return [
        Problem(effect.mark, "unreachable-damage", f"no cause can ever do the damage {effect.id}.", hint)
        for effect in _of_kind(knowledge, "damage")
        if effect.id not in reached
    ]


def findings_have_parents(knowledge: Knowledge) -> list[Problem]:
    """Something brings every finding about: else its answer tells nothing."""
    shown = {link.child for _, link in links(knowledge)}
    hint = "Name it under 'shows' of what brings it about."
    return [
        Problem(finding.mark, "finding-without-parent", f"nothing brings {finding.id} about.", hint)
        for finding in knowledge.findings.values()
        if finding.id not in shown
    ]


def _of_kind(knowledge: Knowledge, kind: str) -> Iterator[Effect]:
    return (effect for effect in knowledge.effects.values() if effect.kind == kind)


def _effect_net(knowledge: Knowledge) -> Net:
    net = {effect.id: {link.child: link.mark for link in effect.leads_to} for effect in knowledge.effects.values()}
    for effect in knowledge.effects.values():
        for other, number in effect.inhibited_by.items():
            net[other][effect.id] = number.mark
    return net


def _reached(knowledge: Knowledge) -> set[str]:
    """The effects that some cause may bring about."""
    children = {parent.id: [link.child for link in parent.leads_to] for parent in parents(knowledge)}
    reached: set[str] = set()
    ahead: list[str] = list(knowledge.causes)
    while ahead:
        new = [child for child in children.get(ahead.pop(), ()) if child not in reached]
        reached.update(new)
        ahead.extend(new)
    return reached


def _cycles(net: Net, hint: str) -> list[Problem]:
    """One problem for each link that closes a circle, at its place, depth first in the order of the ids."""
    problems: list[Problem] = []
    done: set[str] = set()
    for start in net:
        path: list[str] = [] if start in done else [start]
        ahead: list[Iterator[str]] = [iter(net[start])] if path else []
        while path:
            child = next(ahead[-1], None)
            if child is None:
                done.add(path.pop())
                ahead.pop()
            elif child in path:
                circle = _told([*path[path.index(child) :], child])
                problems.append(Problem(net[path[-1]][child], "cycle", f"runs in a circle: {circle}.", hint))
            elif child not in done:
                path.append(child)
                ahead.append(iter(net[child]))
    return problems


def _told(circle: Iterable[str]) -> str:
    return " > ".join(circle)
