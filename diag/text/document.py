"""YAML text into nodes with places, or into problems: a careful subset of YAML, limits first.

Refused, because they surprise the reader or let a small file grow: anchors, aliases, tags, several
documents, duplicate keys, keys that are not text, characters nobody can see.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from diag.text.build import Builder, too_deep
from diag.text.mark import Mark
from diag.text.node import Node
from diag.text.problem import Problem
from diag.text.unseen import unseen_in_file

MAX_BYTES = 4 * 1024 * 1024

_HINTS = {
    "mapping values are not allowed": "Put quotes around a text that contains ': '.",
    "did not find expected ',' or": "Put quotes around a text that contains a comma, a bracket or a brace.",
    "expected ',' or": "Put quotes around a text that contains a comma, a bracket or a brace.",
    "cannot start any token": "Indent with blanks, not with tabs; put quotes around a text that begins so.",
}
_GENERAL_HINT = "Look at this line and the one before it: indentation, quotes, brackets."

Read = tuple[Node | None, list[Problem]]


def yaml_engine() -> str:
    """Which reader of YAML is at work: ``libyaml`` (fast) or ``python`` (slow; what both take they read alike)."""
    return "libyaml" if yaml.__with_libyaml__ else "python"


def _engine() -> Any:
    return yaml.CSafeLoader if yaml_engine() == "libyaml" else yaml.SafeLoader


def read(path: Path) -> Read:
    """The document in a file, as ``parse`` gives it; a file that cannot be read is a problem too."""
    data, problems = read_bytes(path)
    return (None, problems) if data is None else parse_bytes(data, path.as_posix())


def read_bytes(path: Path) -> tuple[bytes | None, list[Problem]]:
    """What is in a file, at most one byte more than the limit, or the problem that it cannot be read."""
    try:
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1), []
    except OSError as error:
        return None, [_unreadable(path, error)]


def parse_bytes(data: bytes, file: str) -> Read:
    """The document in ``data``, which must be UTF-8; Windows line ends and a byte order mark are let pass."""
    text, problems = decode(data, file)
    return (None, problems) if text is None else parse(text, file)


def decode(data: bytes, file: str) -> tuple[str | None, list[Problem]]:
    """``data`` as text with ``\\n`` line ends, or the problem that it is too large or not UTF-8."""
    if len(data) > MAX_BYTES:
        return None, [_too_large(file)]
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n"), []
    except UnicodeDecodeError as error:
        return None, [_not_utf8(error.object, error.start, file)]


def parse(text: str, file: str) -> Read:
    """The one document in ``text``, or None and what is wrong with it.

    An empty text, or one of comments only, gives None and no problem. Problems carry ``file`` and the
    place; after a syntax error, or once a limit is passed, nothing further is read.
    """
    if len(text) > MAX_BYTES:
        return None, [_too_large(file)]
    unseen = unseen_in_file(text, file)
    if unseen:
        return None, unseen
    builder = Builder(file)
    loader = _engine()(text)
    try:
        builder.run(loader)
    except yaml.YAMLError as error:
        builder.problems.append(_syntax_problem(error, file))
    finally:
        loader.dispose()
    if builder.problems:
        return None, sorted(builder.problems)
    return builder.root, []


def _syntax_problem(error: yaml.YAMLError, file: str) -> Problem:
    place = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    mark = Mark(file, place.line + 1, place.column + 1) if place else Mark(file, 1, 1)
    told = str(getattr(error, "problem", None) or error)
    if "nesting depth" in told:  # libyaml has a limit of its own, met while it looks ahead
        return too_deep(mark)
    hint = next((hint for start, hint in _HINTS.items() if start in told), _GENERAL_HINT)
    return Problem(mark, "syntax", f"this is not YAML: {told}.", hint)


def _not_utf8(data: bytes, at: int, file: str) -> Problem:
    start = data.rfind(b"\n", 0, at) + 1
    column = len(data[start:at].decode("utf-8", "replace")) + 1
    mark = Mark(file, data.count(b"\n", 0, at) + 1, column)
    message = f"the byte 0x{data[at]:02x} is not UTF-8."
    return Problem(mark, "not-utf8", message, "Save the file as UTF-8 in your editor.")


def _too_large(file: str) -> Problem:
    message = f"the file is larger than {MAX_BYTES // 1024 // 1024} MiB."
    return Problem(Mark(file, 1, 1), "too-large", message, "Split it.")


def _unreadable(path: Path, error: OSError) -> Problem:
    mark = Mark(path.as_posix(), 1, 1)
    if isinstance(error, FileNotFoundError):
        return Problem(mark, "no-such-file", "there is no such file.", "Look at the name and the folder.")
    reason = error.strerror or str(error)
    return Problem(mark, "unreadable", f"the file cannot be read: {reason}.", "Look at what it is and who may read it.")
