"""Texts such as ``bottom_hose_cold=yes`` into entries for a case."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from diag.case.answer import Answer, is_reading, read_answer
from diag.case.check import answer_words, problems_of
from diag.case.circumstance import Circumstances
from diag.case.entry import UNKNOWN, AccessEntry, Case, CheckEntry, Entry, FindingEntry, FittingEntry, SpecEntry
from diag.case.ids import Ids, id_problem, ids_of
from diag.case.in_force import in_force
from diag.case.measured import vehicle_in
from diag.case.scalar import shown
from diag.case.several import several, tells_several
from diag.knowledge.types import AccessStep, Finding, Fitting, HistoryFact, Knowledge
from diag.text import Mark, Problem, did_you_mean

ARGUMENT = "argument"  # stands for the file in the place of what was typed; its line counts the arguments
_RECORDABLE = (Finding, HistoryFact, Fitting, AccessStep)
SPEC, CHECK = "spec.", "check."  # before the name of a vehicle's own figure, and of an instrument that was checked
_FLAGS = {"yes": True, "no": False}
_FLAGS_OR_UNKNOWN = {**_FLAGS, UNKNOWN: None}


def as_entries(
    case: Case,
    knowledge: Knowledge,
    assignments: Sequence[str],
    *,
    by: str = "",
    note: str = "",
    with_instrument: str = "",
    when: Sequence[str] = (),
    instead: int | None = None,
) -> tuple[tuple[Entry, ...], list[Problem]]:
    """The entries that ``assignments`` (``ID=STATE``) tell, without numbers yet, and the problems, sorted.

    IDs are those of findings, history facts, fittings (yes, no, unknown) and access steps (yes, no);
    ``spec.NAME`` is a figure of the vehicle's own manual, ``check.NAME`` the check of an instrument; ``codes`` are
    all fault codes of a reader, ``temperatures`` those at several places.
    While ``case`` has no complaint, the first finding told here that stands out (not its first state)
    and is one that people bring a vehicle in for becomes the complaint. Where a problem is an error there
    are no entries; a reading that no state goes with yet is let pass with a note.
    """
    ids, circumstances = ids_of(knowledge), Circumstances.of(knowledge)
    problems: list[Problem] = []
    drafts: list[Entry] = []
    for line, text in enumerate(assignments, start=1):
        for told in _drafts(text, line, ids):
            if isinstance(told, Problem):
                problems.append(told)
                continue
            if isinstance(told, FindingEntry):
                told = replace(told, with_instrument=with_instrument, when=tuple(when))
            drafts.append(replace(told, by=by, note=note, instead=instead))
            vehicle = vehicle_in((*(e for e in in_force(case) if e.number != instead), *drafts), ids)
            problems += problems_of(drafts[-1], ids, circumstances, vehicle)
    problems += _several_corrections(drafts, instead)
    if any(problem.severity == "error" for problem in problems):
        return (), sorted(problems)
    return tuple(_with_complaint(case, drafts, ids)), sorted(problems)


def _drafts(text: str, line: int, ids: Ids) -> Iterator[Entry | Problem]:
    """One entry, or one for each finding that a list of fault codes or temperatures tells of."""
    name, _, value = (part.strip() for part in text.partition("="))
    if value and tells_several(name, ids):
        yield from several(name, value, ids, Mark(ARGUMENT, line, text.find("=") + 2))
    else:
        yield _draft(text, line, ids)


def _draft(text: str, line: int, ids: Ids) -> Entry | Problem:
    told, equals, value = (part.strip() for part in text.partition("="))
    place, value_place = Mark(ARGUMENT, line, 1), Mark(ARGUMENT, line, text.find("=") + 2)
    if not (told and equals and value):
        hint = "Write ID=STATE, such as heater_cold=yes."
        return Problem(place, "no-assignment", f"'{shown(text)}' does not say what was seen of what.", hint)
    own = {"value": value_place}
    if told.startswith(SPEC):
        return SpecEntry(spec=told.removeprefix(SPEC), value=value, mark=place, marks=own)
    if told.startswith(CHECK):
        return CheckEntry(check=told.removeprefix(CHECK), value=value, mark=place, marks=own)
    problem = id_problem(ids, told, _RECORDABLE, place)
    if problem:
        return problem
    known = ids[told]
    if isinstance(known, Finding | HistoryFact):
        return _finding(known, value, place, value_place)
    if isinstance(known, Fitting):
        return _fitting(known.id, value, place, value_place)
    return _access(known.id, value, place, value_place)


def _finding(asked: Finding | HistoryFact, value: str, place: Mark, value_place: Mark) -> FindingEntry:
    answer = read_answer(value, asked.states, answer_words(asked))
    marks = {"finding": place, "state": value_place, "reading": value_place}
    if isinstance(answer, Answer):
        return FindingEntry(finding=asked.id, state=answer.text, mark=place, marks=marks)
    measures = isinstance(asked, Finding) and asked.reading is not None
    if is_reading(value) or (measures and any(character.isdigit() for character in value)):
        return FindingEntry(finding=asked.id, reading=value, mark=place, marks=marks)
    return FindingEntry(finding=asked.id, state=value, mark=place, marks=marks)


def _fitting(fitting: str, value: str, place: Mark, value_place: Mark) -> FittingEntry | Problem:
    if value not in _FLAGS_OR_UNKNOWN:
        return _no_flag(value, _FLAGS_OR_UNKNOWN, value_place)
    return FittingEntry(fitting=fitting, fitted=_FLAGS_OR_UNKNOWN[value], mark=place)


def _access(step: str, value: str, place: Mark, value_place: Mark) -> AccessEntry | Problem:
    if value not in _FLAGS:
        return _no_flag(value, _FLAGS, value_place)
    return AccessEntry(access=step, reached=_FLAGS[value], mark=place)


def _no_flag(value: str, known: Mapping[str, object], mark: Mark) -> Problem:
    message = f"'{shown(value)}' is not one of {', '.join(known)}."
    return Problem(mark, "unknown-state", message, did_you_mean(value, known) or "Write one of them.")


def _several_corrections(drafts: Sequence[Entry], instead: int | None) -> list[Problem]:
    if instead is None or len(drafts) <= 1:
        return []
    message = f"entry {instead} can be corrected by one assignment only, here are {len(drafts)}."
    return [Problem(Mark(ARGUMENT, 1, 1), "one-correction", message, "Give one ID=STATE with --instead.")]


def _with_complaint(case: Case, drafts: Sequence[Entry], ids: Ids) -> Iterator[Entry]:
    """The drafts, the first that can be the complaint marked so unless the case then has one already."""
    numbered = (draft.stamped(case.last_number + n, "", "") for n, draft in enumerate(drafts, start=1))
    then = replace(case, entries=(*case.entries, *numbered))
    wanted = not any(isinstance(entry, FindingEntry) and entry.complaint for entry in in_force(then))
    for draft in drafts:
        if wanted and isinstance(draft, FindingEntry) and _stands_out(draft, ids):
            wanted = False
            yield replace(draft, complaint=True)
        else:
            yield draft


def _stands_out(draft: FindingEntry, ids: Ids) -> bool:
    asked = ids[draft.finding]
    if not isinstance(asked, Finding) or not asked.complaint or not draft.state:
        return False
    answer = read_answer(draft.state, asked.states, asked.words)
    return isinstance(answer, Answer) and answer.state not in ("", asked.states[0])
