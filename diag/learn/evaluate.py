"""Rankings scored on diagnosed cases, with the hits that the probabilities themselves expect beside those seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from diag.case import Case, as_entries, observe
from diag.knowledge.types import Knowledge, Told
from diag.learn.diagnosed import DiagnosedCase
from diag.learn.rivals import METHODS, Asked, Marginals
from diag.learn.scores import Judged, Score, score
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Observations
from diag.text import Problem, did_you_mean

VIEWS = ("intake", "told")


@dataclass(frozen=True)
class Evaluation:
    """scores[method][view], of judged[method][view]; refused and skipped: cases with the reason.

    not_refused: cases that are said to be out of scope, and nothing told of the vehicle refuses them.
    """

    scores: Mapping[str, Mapping[str, Score]]
    judged: Mapping[str, Mapping[str, Sequence[Judged]]]
    refused: Mapping[str, str]
    skipped: Mapping[str, str]
    not_refused: tuple[str, ...]

    @property
    def ranks(self) -> dict[str, dict[str, int]]:
        """Per view and case the place of the truth, by ours."""
        return {view: {row.case: row.rank for row in rows} for view, rows in self.judged.get("ours", {}).items()}


@dataclass
class _Sorted:
    """The cases, sorted by what can be done with them. rows: per view a case's id, its truth, what it says."""

    rows: dict[str, list[tuple[str, tuple[str, ...], Asked]]] = field(
        default_factory=lambda: {view: [] for view in VIEWS}
    )
    refused: dict[str, str] = field(default_factory=dict)
    skipped: dict[str, str] = field(default_factory=dict)
    not_refused: list[str] = field(default_factory=list)
    problems: set[Problem] = field(default_factory=set)


def evaluate(
    knowledge: Knowledge,
    cases: Iterable[DiagnosedCase],
    methods: Sequence[str] = tuple(METHODS),
    views: Sequence[str] = VIEWS,
) -> tuple[Evaluation, list[Problem]]:
    """Score the methods on the views.

    Cases that name unknown ids, or that nothing known can explain, are problems; the others are scored. Of several
    true causes those count that the base has.
    """
    found = _Sorted()
    for case in cases:
        _sort(knowledge, case, views, found)
    judged = {m: {view: _judged(m, rows) for view, rows in found.rows.items()} for m in methods}
    scores = {m: {view: score(knowledge, rows) for view, rows in views.items()} for m, views in judged.items()}
    evaluation = Evaluation(scores, judged, found.refused, found.skipped, tuple(found.not_refused))
    return evaluation, sorted(found.problems)


def refusal(knowledge: Knowledge, case: DiagnosedCase) -> str:
    """Why a vehicle is outside the scope; empty where it is inside."""
    for told in case.fitted:
        entry = knowledge.fittings.get(told.id)
        if entry is not None and entry.refuses and told.state == "yes":
            return entry.refuses
    return ""


def _judged(method: str, rows: Iterable[tuple[str, tuple[str, ...], Asked]]) -> list[Judged]:
    return [Judged(case, truth, METHODS[method](asked)) for case, truth, asked in rows]


def _sort(knowledge: Knowledge, case: DiagnosedCase, views: Sequence[str], found: _Sorted) -> None:
    reason = refusal(knowledge, case)
    if reason:
        found.refused[case.id] = reason
        return
    if not case.in_scope:
        found.not_refused.append(case.id)
    truth = _known(knowledge, case.truth)
    if not truth:
        found.skipped[case.id] = _why_skipped(knowledge, case)
        return
    told = {view: answers for view in views if (answers := case.known(view)) is not None}
    asked = {
        view: asked_case(knowledge, case, (*case.fitted, *answers), found.problems) for view, answers in told.items()
    }
    for view, one in _sharing({view: diagnosis for view, diagnosis in asked.items() if diagnosis}):
        found.rows[view].append((case.id, truth, one))


def _sharing(views: Mapping[str, Diagnosis]) -> Iterator[tuple[str, Asked]]:
    """Each view; those with the same complaint share the marginals of the last of them, which tells most."""
    fullest = {_complaints(diagnosis): Marginals(diagnosis.case) for diagnosis in views.values()}
    for view, diagnosis in views.items():
        yield view, Asked(diagnosis, fullest[_complaints(diagnosis)])


def _complaints(diagnosis: Diagnosis) -> frozenset[str]:
    return frozenset(look.finding for look in diagnosis.case.observations.looks if look.complaint)


def _known(knowledge: Knowledge, truth: Iterable[str]) -> tuple[str, ...]:
    """The true causes that the base has, former ids as present ones."""
    now = {old: cause.id for cause in knowledge.causes.values() for old in cause.formerly}
    now |= {cause: cause for cause in (*knowledge.causes, NOTHING_WRONG, UNLISTED_ID)}
    return tuple(now[cause] for cause in truth if cause in now)


def _why_skipped(knowledge: Knowledge, case: DiagnosedCase) -> str:
    if not case.truth:
        return "no cause is told"
    return f"the base has no cause '{case.truth[0]}'. {did_you_mean(case.truth[0], knowledge.causes)}".rstrip()


def asked_case(
    knowledge: Knowledge, case: DiagnosedCase, told: Sequence[Told], problems: set[Problem]
) -> Diagnosis | None:
    """The case as it was told, in that order: the same finding again is a second look. None where it has problems."""
    empty = Case(file=case.mark.file, vehicle=case.id, entries=())
    entries, found = as_entries(empty, knowledge, [f"{answer.id}={answer.state}" for answer in told])
    errors = [problem for problem in found if problem.severity == "error"]
    if errors:
        problems.update(_placed(case, told, problem) for problem in errors)
        return None
    observations, _ = observe(entries, knowledge)
    diagnosis = Diagnosis(compile_case(in_use(knowledge, observations), observations))
    if not diagnosis.probability_of_evidence > 0:
        problems.add(Problem(case.mark, "impossible-evidence", f"{case.id}: nothing known explains all that is told."))
        return None
    return diagnosis


def _placed(case: DiagnosedCase, told: Sequence[Told], problem: Problem) -> Problem:
    """A problem of an assignment, at the place in the file where that stands."""
    answer = told[problem.mark.line - 1]
    mark = answer.mark if problem.mark.column == 1 else answer.state_mark
    return Problem(mark, problem.code, f"{case.id}: {problem.message}", problem.hint)


def in_use(knowledge: Knowledge, observations: Observations) -> Knowledge:
    """The base without the findings that nobody looked at: they change no answer, and most of the work is theirs."""
    seen = {look.finding for look in observations.looks}
    return replace(knowledge, findings={id: finding for id, finding in knowledge.findings.items() if id in seen})
