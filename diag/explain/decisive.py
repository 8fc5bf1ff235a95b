"""What each open question and test tells about a theory being so, or not."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from diag.explain.stated import IMPOSSIBLE, Theory, state, supposing
from diag.network.diagnosis import Diagnosis, Outcomes

Array = npt.NDArray[np.float64]


def against_the_rest(diagnosis: Diagnosis, theory: Theory, only: Collection[str] | None = None) -> dict[str, Outcomes]:
    """P(theory or not, outcome | e) of every open question and test, or some of them; shape (2, ...), the theory first.

    Raises CliqueTooLarge, which it may not do for a few.
    """
    acts = {act: outcome for act, outcome in diagnosis.open_outcomes.items() if only is None or act in only}
    now = state(diagnosis, theory)
    parts: Mapping[str, Array] = {}
    share = 1.0
    if now.place is not None and now.probability > IMPOSSIBLE:
        supposed = supposing(diagnosis, now.said)
        share = now.of_all_causes(now.said) / float(supposed.with_initiating([()])[0].sum())
        parts = _parts(supposed, now.place, acts)
    found = {}
    for act, outcome in acts.items():
        whole = outcome.joint.sum(0)
        part = np.zeros_like(whole)
        if act in parts:
            part = np.minimum(parts[act] * share, whole)
        found[act] = replace(outcome, joint=np.stack([part, whole - part]))
    return found


def _parts(supposed: Diagnosis, place: int, acts: Mapping[str, Outcomes]) -> dict[str, Array]:
    """P(this initiating cause, outcome | e) of each act; facts about the past are asked before a repair only."""
    facts = supposed.fact_outcomes() if acts.keys() & supposed.case.knowledge.history.keys() else {}
    found = {act: facts[act].joint[place] for act in acts if act in facts}
    seen = {act: [supposed.case.node(f) for f in outcome.findings] for act, outcome in acts.items() if act not in facts}
    tables = supposed.with_initiating(list(seen.values()))
    return {**found, **{act: table[place] for act, table in zip(seen, tables, strict=True)}}
