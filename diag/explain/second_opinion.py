"""The same question put to another engine, from the exported files alone.

Nothing of this project's own inference is used here: pgmpy reads the BIF file, takes the evidence beside it and
eliminates variables. It takes a good part of a minute, most of it in tables that the own engine never makes.
"""

from __future__ import annotations

import json
import logging
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any


def second_opinion(bif: Path, evidence: Path, target: str) -> dict[str, float]:
    """P(target | evidence) by pgmpy's variable elimination. Raises OSError where a file cannot be read."""
    likelihood: Mapping[str, list[float]] = json.loads(evidence.read_text(encoding="utf-8"))
    # The library speaks of its own future while it loads; that is nothing for a person at the bench.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        logging.disable(logging.WARNING)
        try:
            return _ask(bif, likelihood, target)
        finally:
            logging.disable(logging.NOTSET)


def _ask(bif: Path, likelihood: Mapping[str, list[float]], target: str) -> dict[str, float]:
    from pgmpy.inference import VariableElimination
    from pgmpy.readwrite import BIFReader

    model = BIFReader(str(bif)).get_model()
    hard, soft = {}, []
    for node, vector in likelihood.items():
        states = model.get_cpds(node).state_names[node]
        if sum(value > 0 for value in vector) == 1:
            hard[node] = states[max(range(len(vector)), key=vector.__getitem__)]
        else:
            soft.append(_virtual(node, states, vector))
    answer = VariableElimination(model).query([target], evidence=hard, virtual_evidence=soft, show_progress=False)
    return dict(zip(answer.state_names[target], map(float, answer.values), strict=True))


def _virtual(node: str, states: list[str], vector: list[float]) -> Any:
    from pgmpy.factors.discrete import TabularCPD

    total = sum(vector)
    return TabularCPD(node, len(vector), [[value / total] for value in vector], state_names={node: states})
