"""A folder of chapters into one frozen knowledge base."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from diag.knowledge.chapter import read_cause, read_effect, read_finding, read_test
from diag.knowledge.declared import CHAPTER_SECTIONS, Declarations
from diag.knowledge.fields import Fields
from diag.knowledge.known import Known
from diag.knowledge.registers import (
    MODEL_NUMBERS,
    read_access,
    read_fitting,
    read_hazard,
    read_history,
    read_model,
    read_reference,
)
from diag.knowledge.twins import read_twin
from diag.knowledge.types import Knowledge, ModelNumber
from diag.text import Mark, Problem, decode, did_you_mean, parse, read_bytes

REGISTERS = {
    "access.yaml": "access",
    "hazards.yaml": "hazards",
    "history.yaml": "history",
    "model.yaml": "model",
    "references.yaml": "references",
    "twins.yaml": "twins",
    "vehicle.yaml": "fittings",
}
CHAPTERS = "chapters"

_READERS: Mapping[str, Callable[[Fields, str], Any]] = {
    "causes": read_cause,
    "effects": read_effect,
    "findings": read_finding,
    "tests": read_test,
    "history": read_history,
    "fittings": read_fitting,
    "access": read_access,
    "hazards": read_hazard,
    "references": read_reference,
    "model": read_model,
    "twins": read_twin,
}


def shipped_folder() -> Path:
    """The folder of the knowledge base that came with the program, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "data" / "knowledge"
    return installed if installed.is_dir() else package.parent / "knowledge"


def load(folder: Path, overlay: Path | None = None) -> tuple[Knowledge | None, list[Problem]]:
    """The base in ``folder`` with the entries of ``overlay`` added or, where the id is there, replaced.

    Returns None where anything is wrong, with every problem found, sorted by place.
    """
    knowledge, problems = load_in_part(folder, overlay)
    return (None if problems else knowledge), problems


def load_in_part(folder: Path, overlay: Path | None = None) -> tuple[Knowledge, list[Problem]]:
    """As ``load``, but gives what could be read even where something is wrong: for checking, not for use."""
    problems: list[Problem] = []
    declarations = Declarations(problems)
    digest = hashlib.sha256()
    for place, replacing in ((folder, False), (overlay, True)):
        if place is not None:
            _declare(place, replacing, declarations, digest)
    known = declarations.known()
    sections = {section: _read_section(section, declarations, known) for section in _READERS}
    problems.extend(_model_problems(folder, sections["model"]))
    return Knowledge(version=digest.hexdigest()[:12], **sections), sorted(problems)


def _declare(folder: Path, replacing: bool, declarations: Declarations, digest: Any) -> None:
    problems = declarations.problems
    if not folder.is_dir():
        hint = "Name a folder with a folder 'chapters' in it."
        problems.append(Problem(Mark(folder.as_posix(), 1, 1), "no-such-folder", "there is no such folder.", hint))
        return
    for path in _files(folder, problems):
        data, found = read_bytes(path)
        text, wrong = (None, []) if data is None else decode(data, path.as_posix())
        problems.extend(found + wrong)
        if text is None:
            continue
        digest.update(f"{path.relative_to(folder).as_posix()}\n{len(text)}\n{text}".encode())
        root, wrong = parse(text, path.as_posix())
        problems.extend(wrong)
        if root is not None:
            sections = CHAPTER_SECTIONS if path.parent != folder else (REGISTERS[path.name],)
            declarations.add_file(root, sections, path.stem, replacing)


def _files(folder: Path, problems: list[Problem]) -> Iterator[Path]:
    """The files of a base in a fixed order; a YAML file that nobody would read is a problem."""
    for path in sorted(folder.rglob("*.y*ml")):
        inside = path.relative_to(folder).as_posix()
        if inside in REGISTERS or (path.suffix == ".yaml" and path.parent == folder / CHAPTERS):
            yield path
        else:
            hint = did_you_mean(inside, REGISTERS) or f"Chapters are files {CHAPTERS}/NAME.yaml."
            mark = Mark(path.as_posix(), 1, 1)
            problems.append(Problem(mark, "unknown-file", "no file of this name is read.", hint))


def _read_section(section: str, declarations: Declarations, known: Known) -> dict[str, Any]:
    """The entries of a section by id, in the order of the ids."""
    entries = {}
    for name, declared in sorted(declarations.sections[section].items()):
        fields = Fields(declared.key, declared.fields, known, declarations.problems)
        entries[name] = _READERS[section](fields, declared.chapter)
        fields.close()
    return entries


def _model_problems(folder: Path, model: Mapping[str, ModelNumber]) -> list[Problem]:
    """The numbers that the model needs and no file has, and those that nothing would use."""
    file = (folder / "model.yaml").as_posix()
    missing = [
        Problem(Mark(file, 1, 1), "missing-model-number", f"the number {name!r} is missing.", "Add it.")
        for name in MODEL_NUMBERS
        if name not in model
    ]
    unknown = [
        Problem(
            entry.mark,
            "unknown-model-number",
            f"the model has no number {name!r}.",
            did_you_mean(name, MODEL_NUMBERS) or f"It has {', '.join(MODEL_NUMBERS)}.",
        )
        for name, entry in model.items()
        if name not in MODEL_NUMBERS
    ]
    return missing + unknown
