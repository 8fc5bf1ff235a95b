"""A worked case: where it lies, what is expected of it, and the commands that play it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from diag.text import ListNode, MapNode, Mark, Node, Problem, ProblemsFound, TextNode, did_you_mean, read

EXPECTED = ".expected.yaml"
ASK = "ask"  # a step of questions; any other step is named by its test
FILE = "case.yaml"  # what the copy is called


@dataclass(frozen=True, slots=True)
class PlayStep:
    """Some answers, and the test that gave them (or ASK)."""

    step: str
    answers: Mapping[str, str]

    @property
    def assignments(self) -> tuple[str, ...]:
        """As ``diag record`` takes them."""
        return tuple(f"{finding}={state}" for finding, state in self.answers.items())


@dataclass(frozen=True, slots=True)
class Play:
    """One worked case. ``case`` is its file, which holds the complaint already."""

    name: str
    case: Path
    title: str
    story: str
    complaint: Mapping[str, str]
    steps: tuple[PlayStep, ...]
    confirmed: str
    seen: str
    convincing: str


def cases_folder() -> Path:
    """The folder of the worked cases that came with the program, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "data" / "cases"
    return installed if installed.is_dir() else package.parent / "cases"


def names(folder: Path) -> tuple[str, ...]:
    """What can be played, sorted."""
    return tuple(sorted(path.name.removesuffix(EXPECTED) for path in folder.glob(f"*{EXPECTED}")))


def read_play(folder: Path, name: str) -> Play:
    """The worked case ``name``. Raises ProblemsFound where there is none, or its file is not as it should be."""
    known = names(folder)
    if name not in known:
        hint = did_you_mean(name, known) or f"There are: {', '.join(known)}."
        raise ProblemsFound([Problem(Mark(name, 1, 1), "no-such-play", "there is no worked case of this name.", hint)])
    file = folder / f"{name}{EXPECTED}"
    root, problems = read(file)
    if problems:
        raise ProblemsFound(problems)
    steps = _child(root, "steps", file)
    if not isinstance(steps, ListNode):
        raise _wrong(steps.mark, "a list of steps is expected.")
    return Play(
        name=name,
        case=folder / f"{name}.yaml",
        title=_text(root, "title", file),
        story=_text(root, "story", file),
        complaint=_answers(_child(root, "complaint", file)),
        steps=tuple(PlayStep(_text(s, "step", file), _answers(_child(s, "answers", file))) for s in steps.items),
        confirmed=_text(root, "confirmed", file),
        seen=_text(root, "seen", file),
        convincing=_text(root, "convincing", file),
    )


def looks() -> tuple[tuple[str, ...], ...]:
    """The commands that show where the case stands, after every step."""
    return ("causes", FILE), ("next", FILE)


def commands(play: Play) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    """What is done, and by which commands (arguments of ``diag``), from the complaint to the confirmed cause."""
    yield "", looks()
    for step in play.steps:
        yield step.step, (("record", FILE, *step.assignments), *looks())
    yield "", (("confirm", FILE, play.confirmed, "--seen", play.seen),)


def _child(node: Node | None, key: str, file: Path) -> Node:
    child = node.get(key) if isinstance(node, MapNode) else None
    if child is None:
        raise _wrong(node.mark if node else Mark(file.as_posix(), 1, 1), f"'{key}' is missing.")
    return child


def _text(node: Node | None, key: str, file: Path) -> str:
    child = _child(node, key, file)
    if not isinstance(child, TextNode):
        raise _wrong(child.mark, "text is expected.")
    return child.value


def _answers(node: Node) -> Mapping[str, str]:
    if not isinstance(node, MapNode):
        raise _wrong(node.mark, "answers are expected, {finding: state}.")
    return {key.value: value.value for key, value in node.items if isinstance(value, TextNode)}


def _wrong(mark: Mark, message: str) -> ProblemsFound:
    return ProblemsFound([Problem(mark, "play-shape", message, "Compare with the other worked cases.")])
