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
from diag.knowledge.overlay import OVERLAY_FILE, Layers, entries_of
from diag.knowledge.registers import (
    MODEL_NUMBERS,
    read_access,
    read_fitting,
    read_gate,
    read_hazard,
    read_history,
    read_lock,
    read_model,
    read_part,
    read_reference,
    read_trouble,
)
from diag.knowledge.twins import read_twin
from diag.knowledge.types import Knowledge, ModelNumber
from diag.text import Mark, Node, Problem, decode, did_you_mean, parse, read_bytes

REGISTERS = {
    "access.yaml": "access",
    "hazards.yaml": "hazards",
    "history.yaml": "history",
    "first_start.yaml": "gates",
    "locks.yaml": "locks",
    "model.yaml": "model",
    "parts.yaml": "parts",
    "references.yaml": "references",
    "troubles.yaml": "troubles",
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
    "locks": read_lock,
    "hazards": read_hazard,
    "references": read_reference,
    "model": read_model,
    "parts": read_part,
    "troubles": read_trouble,
    "gates": read_gate,
    "twins": read_twin,
}


def shipped_folder() -> Path:
    """The folder of the knowledge base that came with the program, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "data" / "knowledge"
    return installed if installed.is_dir() else package.parent / "knowledge"


def load(folder: Path, *overlays: Path) -> tuple[Knowledge | None, list[Problem]]:
    """The base in ``folder`` with ``overlays`` laid over it in their order.

    Returns None where anything is wrong, with every problem found, sorted by place.
    """
    knowledge, problems = load_in_part(folder, *overlays)
    return (None if problems else knowledge), problems


def load_in_part(folder: Path, *overlays: Path) -> tuple[Knowledge, list[Problem]]:
    """As ``load``, but gives what could be read even where something is wrong: for checking, not for use."""
    problems: list[Problem] = []
    declarations = Declarations(problems)
    digest = hashlib.sha256()
    for root, path in _parsed(folder, declarations.problems, digest):
        declarations.add_file(root, _sections(folder, path), path.stem)
    layers = Layers(declarations)
    for overlay in overlays:
        _lay_over(overlay, layers, digest)
    known = declarations.known()
    sections = {section: _read_section(section, declarations, known) for section in _READERS}
    problems.extend(_model_problems(folder, sections["model"]))
    told = {id: tuple(found) for id, found in sorted(layers.provenance.items())}
    return Knowledge(version=digest.hexdigest()[:12], **sections, provenance=told), sorted(problems)


def _lay_over(folder: Path, layers: Layers, digest: Any) -> None:
    """One overlay: what it takes out goes first, then what it adds comes in, then it changes what is there."""
    files = list(_parsed(folder, layers.declarations.problems, digest, OVERLAY_FILE))
    told = next((root for root, path in files if path == folder / OVERLAY_FILE), None)
    title = layers.title(told, folder.resolve().name)
    if told is not None:
        layers.check(told)
    layers.remove(told, title)
    before = {id(entry) for entry in entries_of(layers.declarations)}
    for root, path in files:
        if root is not told:
            layers.declarations.add_file(root, _sections(folder, path), path.stem)
    layers.tell_added([new for new in entries_of(layers.declarations) if id(new) not in before], title)
    layers.change(told, title)


def _sections(folder: Path, path: Path) -> tuple[str, ...]:
    return CHAPTER_SECTIONS if path.parent != folder else (REGISTERS[path.name],)


def _parsed(folder: Path, problems: list[Problem], digest: Any, more: str = "") -> Iterator[tuple[Node, Path]]:
    """What the files of a folder hold, in a fixed order; ``more`` is a name that only an overlay may have."""
    if not folder.is_dir():
        hint = "Name a folder with a folder 'chapters' in it."
        problems.append(Problem(Mark(folder.as_posix(), 1, 1), "no-such-folder", "there is no such folder.", hint))
        return
    for path in _files(folder, problems, more):
        data, found = read_bytes(path)
        text, wrong = (None, []) if data is None else decode(data, path.as_posix())
        problems.extend(found + wrong)
        if text is None:
            continue
        digest.update(f"{path.relative_to(folder).as_posix()}\n{len(text)}\n{text}".encode())
        root, wrong = parse(text, path.as_posix())
        problems.extend(wrong)
        if root is not None:
            yield root, path


def _files(folder: Path, problems: list[Problem], more: str) -> Iterator[Path]:
    """The files of a base or an overlay in a fixed order; a YAML file that nobody would read is a problem."""
    known = {*REGISTERS, more} if more else set(REGISTERS)
    for path in sorted(folder.rglob("*.y*ml")):
        inside = path.relative_to(folder).as_posix()
        mark = Mark(path.as_posix(), 1, 1)
        if more and inside == "model.yaml":
            hint = "Name it before the overlays, and only one; an overlay changes a number under 'changes'."
            problems.append(Problem(mark, "second-base", "this folder is a base of its own, not an overlay.", hint))
        elif inside in known or (path.suffix == ".yaml" and path.parent == folder / CHAPTERS):
            yield path
        else:
            hint = did_you_mean(inside, known) or f"Chapters are files {CHAPTERS}/NAME.yaml."
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
