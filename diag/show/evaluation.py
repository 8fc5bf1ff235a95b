"""Scores of rankings on diagnosed cases, as JSON and as one table."""

from __future__ import annotations

from typing import Any

from diag.learn import Evaluation, Score
from diag.learn.scores import HITS, paired
from diag.show.page import Page

VIEWS = {"intake": "on what was known at intake", "told": "with the steps before the revealing one"}
_NAMES = {"ours": "this tool", "prior_only": "shares alone", "naive_bayes": "naive Bayes"}
_WIDTHS = (13, 16, 16, 16, 8, 6)


def evaluation_data(evaluation: Evaluation) -> dict[str, Any]:
    """Per method and view the fields of ``diag evaluate --json``; then what else became of the cases, and ranks."""
    methods = {m: {view: _score_data(s) for view, s in views.items()} for m, views in evaluation.scores.items()}
    return {
        **methods,
        "paired": {view: _paired_data(evaluation, view) for view in VIEWS},
        "refused": dict(evaluation.refused),
        "not_refused": list(evaluation.not_refused),
        "skipped": dict(evaluation.skipped),
        "ranks": evaluation.ranks,
    }


def _score_data(score: Score) -> dict[str, Any]:
    counts = {name: getattr(score, name) for name in ("n", *HITS, "family_first", "log_loss")}
    expected = {f"expected_{name}": told.mean for name, told in score.expected.items()}
    bands = {f"band_{name}": [told.low, told.high] for name, told in score.expected.items()}
    return {**counts, **expected, **bands}


def _paired_data(evaluation: Evaluation, view: str) -> dict[str, Any]:
    """How much more naive Bayes loses than this tool, in bits, case by case; null below two cases."""
    mean, error = _paired(evaluation, view) or (None, None)
    return {"against": "naive_bayes", "mean": mean, "standard_error": error}


def _paired(evaluation: Evaluation, view: str) -> tuple[float, float] | None:
    return paired(evaluation.scores["ours"][view], evaluation.scores["naive_bayes"][view])


def evaluation_page(evaluation: Evaluation) -> Page:
    """One table a view: observed hits, and in brackets what the probabilities themselves expect."""
    page = Page()
    for view, words in VIEWS.items():
        page.title(f"{evaluation.scores['ours'][view].n} cases, {words}")
        page.say(_row("", "first", "first 3", "first 5", "family", "bits"), 2)
        for method, views in evaluation.scores.items():
            page.say(_score_row(_NAMES[method], views[view]), 2)
        _add_paired(page, evaluation, view)
    page.blank()
    page.say(
        "Hits: 7 (9, 5-14) are 7 seen, 9 expected by the method's own probabilities, 5 to 14 in 95 of 100 such lists."
    )
    page.say("Bits: lost on the true cause, mean over the cases; fewer is better.")
    _add_others(page, evaluation)
    return page


def _add_paired(page: Page, evaluation: Evaluation, view: str) -> None:
    difference = _paired(evaluation, view)
    if difference:
        mean, error = difference
        more = "more" if mean >= 0 else "less"
        page.say(f"Naive Bayes loses {abs(mean):.2f} bits {more} a case than this tool, standard error {error:.2f}.", 2)


def _add_others(page: Page, evaluation: Evaluation) -> None:
    """The cases that are in no row."""
    for reason in dict.fromkeys(evaluation.refused.values()):
        refused = [case for case, why in evaluation.refused.items() if why == reason]
        page.say(f"Outside the scope, refused: {', '.join(refused)} - {reason}", 2, "-")
    if evaluation.not_refused:
        page.say(f"Said to be outside the scope, but not refused: {', '.join(evaluation.not_refused)}", 2, "-")
    for case, why in evaluation.skipped.items():
        page.say(f"Left out: {case} - {why}", 2, "-")


def _score_row(name: str, score: Score) -> str:
    hits = [f"{getattr(score, hit)} ({told.mean:.0f}, {told.low}-{told.high})" for hit, told in score.expected.items()]
    return _row(name, *hits, str(score.family_first), f"{score.log_loss:.2f}" if score.n else "-")


def _row(*cells: str) -> str:
    return "".join(f"{cell:<{width}}" for cell, width in zip(cells, _WIDTHS, strict=True)).rstrip()
