"""The case file: created, read, and added to at its end. Old bytes always stay the beginning of new bytes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from diag.case.disk import failed, locked, read_bytes, real_path, replace_bytes
from diag.case.entry import Case, Entry, OpenedEntry, UndoEntry
from diag.case.in_force import in_force, reference_problems
from diag.case.layout import block, head, time_text
from diag.case.parse import case_of
from diag.text import ListNode, MapNode, Node, ProblemsFound, decode, parse

LOCK_SECONDS = 10.0
Make = Callable[[Case], Iterable[Entry]]


def load(path: Path) -> Case:
    """The case in ``path``. Raises ProblemsFound, all of them sorted, where it is no sound case file."""
    return _read(path, read_bytes(path))[0]


def create(
    path: Path,
    vehicle: str,
    fittings: Mapping[str, bool],
    *,
    knowledge: str,
    now: datetime | None = None,
    by: str = "",
    note: str = "",
    timeout: float = LOCK_SECONDS,
) -> Case:
    """Opens a case in a new file, with the fittings told. Raises ProblemsFound where ``path`` exists."""
    real = real_path(path)
    _refuse_unless_new(path, real)
    entry = OpenedEntry(opened=fittings, by=by, note=note)
    stamped = entry.stamped(1, time_text(now or datetime.now(UTC)), knowledge)
    content = (head(vehicle) + block([stamped])).encode()
    empty = Case(path.as_posix(), vehicle, ())
    case = _checked(path, empty, (stamped,), content)
    with locked(real, timeout):
        _refuse_unless_new(path, real)
        replace_bytes(real, None, content)
    return case


def append(
    path: Path,
    entries: Iterable[Entry],
    *,
    knowledge: str,
    now: datetime | None = None,
    timeout: float = LOCK_SECONDS,
) -> Case:
    """Adds ``entries`` at the end of the case in ``path`` and gives the case as it is then.

    Each gets the next number, the time ``now`` (which must know its zone) and the ``knowledge`` version.
    When this returns the entries are on the disk. Raises ProblemsFound, the file unchanged, where it is
    no sound case file, cannot be written, is locked for ``timeout`` seconds, or where ``undo`` or
    ``instead`` name an entry that cannot be taken back.
    """
    told = tuple(entries)
    return extend(path, lambda _: told, knowledge=knowledge, now=now, timeout=timeout)


def extend(
    path: Path,
    make: Make,
    *,
    knowledge: str,
    now: datetime | None = None,
    timeout: float = LOCK_SECONDS,
) -> Case:
    """As ``append``, with the entries that ``make`` draws up from the case while nobody else can write."""
    real = real_path(path)
    read_bytes(real)  # before the lock, which would make the missing folder of a mistyped name
    with locked(real, timeout):
        old = read_bytes(real)
        case, root = _read(path, old)
        new = _stamped(case, make(case), now or datetime.now(UTC), knowledge)
        if not new:
            return case
        content = _joined(old, block(new, _indent(path, old, root)))
        grown = _checked(path, case, new, content)
        replace_bytes(real, old, content)
    return grown


def _read(path: Path, content: bytes) -> tuple[Case, Node | None]:
    file = path.as_posix()
    text, problems = decode(_ended(content), file)
    root = None
    if text is not None:
        root, problems = parse(text, file)
    case = None
    if not problems:
        case, problems = case_of(root, file)
    if case is None:
        raise ProblemsFound(problems)
    return case, root


def _stamped(case: Case, entries: Iterable[Entry], now: datetime, knowledge: str) -> tuple[Entry, ...]:
    first, time = case.last_number + 1, time_text(now)
    return tuple(entry.stamped(first + place, time, knowledge) for place, entry in enumerate(entries))


def _indent(path: Path, content: bytes, root: Node | None) -> int:
    """How many blanks stand before each entry; ProblemsFound where nothing can be added at the end."""
    key, node = root.items[-1] if isinstance(root, MapNode) else (None, None)
    if key is not None and key.value == "entries" and isinstance(node, ListNode):
        line = content.decode("utf-8-sig").split("\n")[node.line - 1]
        if line[node.column - 1] == "-":
            return node.column - 1
    hint = "Make 'entries:' the last key, each entry on lines of its own that begin with a dash."
    raise failed(path, "case-shape", "nothing can be added at the end of this file.", hint)


def _joined(old: bytes, added: str) -> bytes:
    return _ended(old) + added.encode()


def _ended(content: bytes) -> bytes:
    """With a last line end: without it a block text at the very end would read differently once we add to it."""
    return content if content.endswith(b"\n") else content + b"\n"


def _checked(path: Path, case: Case, new: tuple[Entry, ...], content: bytes) -> Case:
    """The case in ``content``, once it is sure that it reads back as ``case`` and the ``new`` entries."""
    wanted = Case(case.file, case.vehicle, case.entries + new)
    hint = "Nothing was changed. Look at the end of the file and at what is to be added."
    try:
        grown = _read(path, content)[0]
    except ProblemsFound as error:
        message = f"with the new entries it could not be read any more: {error.problems[0].message}"
        raise failed(path, "case-cannot-grow", message, hint) from error
    if grown != wanted:
        raise failed(path, "case-cannot-grow", "the new entries would not read back as told.", hint)
    _refuse_idle_references(path, case, new, grown)
    return grown


def _refuse_idle_references(path: Path, case: Case, new: tuple[Entry, ...], grown: Case) -> None:
    """Nothing may be added that takes back or corrects what is not there, or is out of force already."""
    before = {problem.mark for problem in reference_problems(case)}
    problems = [problem for problem in reference_problems(grown) if problem.mark not in before]
    if problems:
        raise ProblemsFound(problems)
    undone = {entry.undo for entry in new if isinstance(entry, UndoEntry)}
    live = {entry.number for entry in in_force(case)}
    for target in case.entries:
        if target.number in undone - live and not isinstance(target, UndoEntry):
            message = f"undo: entry {target.number} is out of force already."
            raise failed(path, "case-reference", message, "Look up the numbers in 'diag status'.")


def _refuse_unless_new(path: Path, real: Path) -> None:
    if real.exists():
        hint = "Choose another name, or go on with this case: diag record FILE ID=STATE."
        raise failed(path, "file-exists", "there is a file of this name already.", hint)
    if not real.parent.is_dir():
        hint = "Make the folder first, or look at its name."
        raise failed(path, "no-such-folder", "there is no such folder.", hint)
