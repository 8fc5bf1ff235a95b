"""Calibration: the scores by hand, and a base that is true keeps its word."""

import numpy as np
import pytest
from oracle.knowledge import base, cause, effect, finding

from diag.learn.calibration import calibration, drawn
from diag.learn.scores import Judged


def test_brier_score_of_the_rain_forecasts() -> None:
    """Brier 1950, Table 1: ten forecasts of rain or no rain score 0.19 (read from memory of the paper, recomputed)."""
    said = [0.7, 0.9, 0.8, 0.4, 0.2, 0.0, 0.0, 0.0, 0.0, 0.1]
    rain = [False, True, True, True, False, False, False, False, False, False]
    rows = [
        Judged(str(n), ("rain" if wet else "dry",), {"rain": p, "dry": 1 - p})
        for n, (p, wet) in enumerate(zip(said, rain, strict=True))
    ]
    by_hand = sum(2 * (p - wet) ** 2 for p, wet in zip(said, rain, strict=True)) / len(said)
    assert by_hand == pytest.approx(0.19, abs=0.001)
    assert calibration(rows).brier == pytest.approx(by_hand)


def test_true_causes_together_are_one_answer() -> None:
    told = calibration([Judged("one", ("a", "b"), {"a": 0.3, "b": 0.2, "c": 0.5})])
    assert told.brier == pytest.approx(0.5**2 + 0.5**2)
    assert told.log_loss == pytest.approx(1.0)
    (line,) = told.table
    assert (line.count, line.said, line.seen) == (2, 0.5, 0.5)


def test_a_base_that_is_true_keeps_its_word() -> None:
    """All answers of one bin against their mean, within four standard errors; sums over all bins agree as well."""
    effects = [effect("hot", {"yes": 0.05}, {}, {"gauge": 0.9, "steam": 0.5})]
    causes = [cause("stuck", 3.0, {"hot": 0.9}, {"cold_hose": 0.8}), cause("leak", 2.0, {"hot": 0.4}, {"puddle": 0.9})]
    findings = [finding(f, {"yes": 0.05}) for f in ("gauge", "steam", "cold_hose", "puddle")]
    told = calibration(drawn(base(causes, findings, effects), 400, seed=3))
    assert told.n == 400
    assert sum(line.count for line in told.table) == 3 * 400  # two causes and nothing wrong
    for line in told.table:
        assert abs(line.seen - line.said) <= 4 * line.error
    turned = calibration([Judged("x", ("a",), {"a": 0.1, "b": 0.9})] * 50)  # one that does not keep it is seen
    assert any(abs(line.seen - line.said) > 4 * line.error for line in turned.table)
    assert np.isfinite(told.log_loss)
