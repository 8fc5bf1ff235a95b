"""The knowledge base with every link above an effect as an effect of its own, so that the network can say of each
link how likely it is to have fired. The probabilities of everything else stay what they were.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TypeVar

from diag.explain.effect_tree.noisy import LEAK, link_id
from diag.knowledge.types import Cause, Effect, Knowledge, Link, Number

Entry = TypeVar("Entry", Cause, Effect)


def split_links(knowledge: Knowledge, effects: Collection[str], causes: Collection[str]) -> Knowledge:
    """Links from these causes and all effects into these effects become effects ``parent>child``, leaks of OR gates
    ``>child``.

    A cause that the vehicle cannot have is no input of a gate, so its links are not to be split. A leak of another
    gate is no input of it either, and stays where it is.
    """
    passing: dict[str, Effect] = {}
    split_causes = {id: _split(knowledge.causes[id], knowledge, effects, passing) for id in causes}
    split = {id: _split(effect, knowledge, effects, passing) for id, effect in knowledge.effects.items()}
    for id in effects:
        effect = split[id]
        if effect.gate != "or":
            continue
        passing[link_id(LEAK, id)] = _passes(link_id(LEAK, id), effect, effect.leak)
        split[id] = replace(effect, leak={})
    return replace(knowledge, causes={**knowledge.causes, **split_causes}, effects={**split, **passing})


def _split(entry: Entry, knowledge: Knowledge, effects: Collection[str], passing: dict[str, Effect]) -> Entry:
    links = []
    for link in entry.leads_to:
        if link.child in effects:
            id = link_id(entry.id, link.child)
            passing[id] = _passes(id, knowledge.effects[link.child], {})
            link = replace(link, child=id)
        links.append(link)
    return replace(entry, leads_to=tuple(links))


def _passes(id: str, child: Effect, leak: Mapping[str, Number]) -> Effect:
    """What hands its own degree on to the child, whole."""
    certain = Number(1.0, "computed", child.mark)
    hands_on = Link(child.id, {state: {state: certain} for state in child.states[1:]}, child.mark)
    return Effect(
        id=id,
        name=id,
        chapter=child.chapter,
        mark=child.mark,
        kind="mechanism",
        states=child.states,
        gate="or",
        leak=leak,
        leads_to=(hands_on,),
        shows=(),
    )
