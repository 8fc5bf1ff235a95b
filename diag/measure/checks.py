"""The check of an instrument: what it showed beside what it should have, as evidence on its error."""

from __future__ import annotations

from math import log, sqrt

from diag.knowledge.types import Finding
from diag.measure.misread import Misread, Refused
from diag.measure.quantities import in_unit, read_figures


def read_check(text: str) -> tuple[str, str] | Misread:
    """Shown and true, as texts, from ``0.85 bar at 1 bar``."""
    shown, at, true = (part.strip() for part in text.partition(" at "))
    hint = "Write what it showed at what it should have, such as 0.85 bar at 1 bar."
    if not at:
        return Misread("a check needs two figures.", hint)
    try:
        figures = [read_figures(part) for part in (shown, true)]
    except Refused as refused:
        return refused.misread
    if figures[0].kind != figures[1].kind or any(len(told.values) != 1 for told in figures):
        return Misread("a check needs two figures of one kind.", hint)
    return shown, true


def error_told(text: str, finding: Finding) -> tuple[float, ...] | None:
    """Likelihood over the error of an instrument that ``finding`` was read with, its greatest 1.

    None where the check does not fit this kind of reading, or the reading has no error of its instrument.
    """
    import numpy as np

    from diag.measure.errors import NODES, WITHIN_NODE

    told, model = read_check(text), finding.reading
    if isinstance(told, Misread) or model is None or model.error.value == 0:
        return None
    try:
        shown, true = (in_unit(read_figures(part), model.unit)[0] for part in told)
    except Refused:
        return None
    if model.relative and min(shown, true) <= 0:
        return None
    off = log(shown / true) if model.relative else shown - true
    error, scatter = model.error.value, model.scatter.value
    deviation = sqrt(scatter**2 + WITHIN_NODE * error**2)
    logs = -0.5 * ((off - NODES * error) / deviation) ** 2
    return tuple(np.exp(logs - logs.max()).tolist())
