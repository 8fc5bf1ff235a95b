"""The command ``demo``: a worked case, played by the real commands on a copy."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from contextlib import chdir, redirect_stdout
from io import StringIO
from itertools import takewhile
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import plays
from diag.cli.opening import answering, folders_of, knowledge_of
from diag.cli.options import KnowledgeDir

if TYPE_CHECKING:
    from diag.cli.demo_play import Play
    from diag.knowledge.types import Knowledge

FIRST = "blown_fan_fuse"
# Lines that are shown below each heading of a screen; the commands themselves show all.
ITEM_INDENT = 2  # below a heading, items begin with no more blanks than this
LINES = {"causes": 6, "next": 2}
PlayName = Annotated[
    str,
    typer.Argument(metavar="[NAME]", help="Which worked case; a wrong name tells all of them.", autocompletion=plays),
]


def demo(context: typer.Context, name: PlayName = FIRST, knowledge: KnowledgeDir = None) -> None:
    """Play a worked case from the complaint to the confirmed cause, by the real commands on a copy.

    For example: diag demo hairline_tank
    """
    with answering(as_json=False):
        from diag.cli.demo_play import FILE, cases_folder, read_play

        base = knowledge_of(context, knowledge)
        play = read_play(cases_folder(), name)
        with TemporaryDirectory() as folder:
            copyfile(play.case, Path(folder) / FILE)
            _play(play, base, Path(folder), folders_of(context, knowledge))


def _play(play: Play, base: Knowledge, folder: Path, knowledge: list[Path]) -> None:
    from diag.cli.demo_play import commands
    from diag.show.names import ADVICE
    from diag.show.page import Page

    _opening(play, base)
    options = [word for given in knowledge for word in ("--knowledge", str(given.resolve()))]
    with chdir(folder):
        for number, (step, done) in enumerate(commands(play)):
            if step:
                _say(f"-- Step {number}: {_told(base, step)}")
            for arguments in done:
                _run((*arguments, *options))
    page = Page()
    page.blank()
    page.say(f"Why it convinces: {play.convincing}")
    page.say(ADVICE)
    page.say("Your own vehicle: diag interview my_case.yaml. Other worked cases: " + _others(play) + ".")
    page.print()


def _opening(play: Play, base: Knowledge) -> None:
    from diag.show.page import Page

    page = Page()
    page.title(play.title)
    page.say(play.story)
    page.say("The commands are real and work on a copy; the screens are cut where you see dots.")
    page.say("It came in because:")
    for finding, state in play.complaint.items():
        page.say(f"{base.findings[finding].name}: {state}" if finding in base.findings else finding, 2, "-")
    page.print()


def _told(base: Knowledge, step: str) -> str:
    from diag.cli.demo_play import ASK

    if step == ASK:
        return "the owner is asked"
    return base.tests[step].name if step in base.tests else step


def _others(play: Play) -> str:
    from diag.cli.demo_play import cases_folder, names

    return ", ".join(f"diag demo {name}" for name in names(cases_folder()) if name != play.name)


def _say(text: str) -> None:
    from diag.show.page import Page

    page = Page()
    page.blank()
    page.say(text, style="bold")
    page.print()


def _run(arguments: Sequence[str]) -> None:
    """Echo a command as it is typed, run it, and show its screen in short. Exits where the command does."""
    from diag.cli.main import app

    typer.echo(f"\n$ diag {shlex.join(arguments)}")
    screen = StringIO()
    try:
        with redirect_stdout(screen):
            code = app(list(arguments), standalone_mode=False)
    finally:
        typer.echo("\n".join(shortened(screen.getvalue(), LINES.get(arguments[0]))))
    if code:
        raise typer.Exit(code)


def shortened(screen: str, most: int | None) -> Iterator[str]:
    """The lines of ``screen``, blank ones left out.

    Where ``most`` is given: about that many below each heading, cut between two items and never inside one, and not
    the last of several paragraphs, which is the same on every screen.
    """
    paragraphs = screen.rstrip().split("\n\n")
    lines = "\n".join(paragraphs if most is None else paragraphs[:-1] or paragraphs).split("\n")
    below, cut = 0, False
    for place, line in enumerate(lines):
        if not line.startswith(" "):
            below, cut = 0, False
        elif most is not None and not cut and _begins_item(line):
            cut = below > 0 and below + _lines_of_item(lines, place) > most
            if cut:
                yield "   ..."
        below += line.startswith(" ")
        if not cut:
            yield line


def _begins_item(line: str) -> bool:
    """Whether a line below a heading begins something new, and does not only go on with the line before."""
    return len(line) - len(line.lstrip()) <= ITEM_INDENT


def _lines_of_item(lines: Sequence[str], place: int) -> int:
    """How many lines the item has that begins at ``place``."""
    after = lines[place + 1 :]
    goes_on = (line.startswith(" ") and not _begins_item(line) for line in after)
    return 1 + sum(1 for _ in takewhile(bool, goes_on))
