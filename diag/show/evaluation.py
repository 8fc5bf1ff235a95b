"""Scores of rankings on diagnosed cases, as JSON and as one table."""

from __future__ import annotations

from typing import Any

from diag.learn import Evaluation, Score
from diag.learn.evaluate import HITS, paired
from diag.show.page import Page

VIEWS = {"intake": "on what was known at intake", "told": "with the steps before the revealing one"}
_NAMES = {"ours": "this tool", "prior_only": "shares alone", "naive_bayes": "naive Bayes"}


def evaluation_data(evaluation: Evaluation) -> dict[str, Any]:
    """Per method and view the fields of ``diag evaluate --json``; then refused and skipped cases, and ranks."""
    methods = {m: {view: _score_data(s) for view, s in views.items()} for m, views in evaluation.scores.items()}
    return {
        **methods,
        "paired": {view: _paired_data(evaluation, view) for view in VIEWS},
        "refused": dict(evaluation.refused),
        "skipped": list(evaluation.skipped),
        "ranks": {view: dict(ranks) for view, ranks in evaluation.ranks.items()},
    }


def _score_data(score: Score) -> dict[str, Any]:
    counts = {name: getattr(score, name) for name in ("n", *HITS, "family_first", "log_loss")}
    expected = {f"expected_{name}": told.mean for name, told in score.expected.items()}
    bands = {f"band_{name}": [told.low, told.high] for name, told in score.expected.items()}
    return {**counts, **expected, **bands}


def _paired_data(evaluation: Evaluation, view: str) -> dict[str, Any]:
    """How much more naive Bayes loses than this tool, in bits, case by case."""
    ours, other = evaluation.scores["ours"][view], evaluation.scores["naive_bayes"][view]
    mean, error = paired(ours, other) if ours.n > 1 else (0.0, 0.0)
    return {"against": "naive_bayes", "mean": mean, "standard_error": error}


def evaluation_page(evaluation: Evaluation) -> Page:
    """One table a view: observed hits, and in brackets what the probabilities themselves expect."""
    page = Page()
    for view, words in VIEWS.items():
        cases = evaluation.scores["ours"][view].n
        page.title(f"{cases} cases, {words}")
        page.say(_row("", "first", "first 3", "first 5", "family", "bits"), 2)
        for method, views in evaluation.scores.items():
            page.say(_score_row(_NAMES[method], views[view]), 2)
        told = _paired_data(evaluation, view)
        page.say(
            f"Naive Bayes loses {told['mean']:.2f} bits more a case than this tool, give or take "
            f"{told['standard_error']:.2f}.",
            2,
        )
    page.blank()
    page.say(
        "Observed hits, and in brackets how many the method's own probabilities expect; bits: the fewer the better."
    )
    for reason in dict.fromkeys(evaluation.refused.values()):
        cases_refused = [case for case, why in evaluation.refused.items() if why == reason]
        page.say(f"Outside the scope: {', '.join(cases_refused)} - {reason}", 2, "-")
    if evaluation.skipped:
        page.say(f"Without a known cause, left out: {', '.join(evaluation.skipped)}", 2, "-")
    return page


def _score_row(name: str, score: Score) -> str:
    hits = [f"{getattr(score, hit)} ({score.expected[hit].mean:.0f})" for hit in HITS]
    return _row(name, *hits, str(score.family_first), f"{score.log_loss:.2f}")


def _row(*cells: str) -> str:
    widths = (13, 10, 10, 10, 8, 6)
    return "".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()
