"""The pictures of the README: one of the terminal, one of the job sheet. Run: python tests/docs/pictures.py

Both come from a worked case by the real commands. The terminal is drawn by rich; the sheet is looked at with a
Chromium where there is one, else the picture that is there is kept.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
from datetime import datetime
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).parent
TERMINAL, SHEET = HERE / "terminal.svg", HERE / "sheet.png"
CASE = "blown_fan_fuse"
COLUMNS, ROWS = 84, 34
WIDTH, HEIGHT = 760, 1180
INK, PAPER = (27, 31, 35), (255, 255, 255)
# Our own frame: no outside fonts, nothing that imitates a window.
FRAME = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {terminal_width} {terminal_height}" role="img">
<title>The commands diag causes and diag next in a terminal</title>
<style>{styles} text {{ font: {char_height}px ui-monospace, "DejaVu Sans Mono", monospace; white-space: pre; }}</style>
<defs>{lines}</defs>
<rect width="100%" height="100%" fill="#ffffff" stroke="#c9ced3" stroke-width="3"/>
<g transform="translate(14, 10)">{matrix}</g>
</svg>"""


def session():  # type: ignore[no-untyped-def]
    """The worked case after its first answers."""
    from dataclasses import replace

    from diag.case import as_entries, load
    from diag.cli.demo_play import cases_folder, read_play
    from diag.session import Session, load_knowledge

    knowledge, play = load_knowledge(), read_play(cases_folder(), CASE)
    case = load(play.case)
    entries, _ = as_entries(case, knowledge, play.steps[0].assignments)
    told = (e.stamped(case.last_number + n, "2024-05-31T16:30:00Z", "") for n, e in enumerate(entries, start=1))
    return Session.of(replace(case, file="van.yaml", entries=(*case.entries, *told)), knowledge)


def terminal() -> str:
    """The screens of two commands as SVG, cut to a page."""
    from rich.console import Console
    from rich.terminal_theme import TerminalTheme
    from rich.text import Text

    from diag.show.causes import causes_page
    from diag.show.next_step import next_page

    told = session()
    console = Console(record=True, width=COLUMNS + 3, file=io.StringIO(), color_system=None)
    left = ROWS
    for command, page in (
        ("diag causes", causes_page(told, False)),
        ("diag next", next_page(told, False, told.ranking)),
    ):
        lines = [f"$ {command}", *printed(page)]
        half = lines[: ROWS // 2 - 1] if left == ROWS else lines[:left]
        for line in [*half, *(["..."] if len(half) < len(lines) else []), ""]:
            console.print(Text(line, "bold" if line.startswith("$ ") else ""), soft_wrap=True)
        left -= len(half)
    black = TerminalTheme(PAPER, INK, [INK] * 8)
    return console.export_svg(title="diag", theme=black, code_format=FRAME, unique_id="diag") + "\n"


def printed(page) -> list[str]:  # type: ignore[no-untyped-def]
    """The lines of a page, as wide as the picture in whatever terminal this runs."""
    shown, before = io.StringIO(), os.environ.get("COLUMNS")
    os.environ["COLUMNS"] = str(COLUMNS)
    try:
        page.print(shown)
    finally:
        os.environ.pop("COLUMNS") if before is None else os.environ.update(COLUMNS=before)
    return shown.getvalue().rstrip().splitlines()


def words(svg: str) -> str:
    """The text of a picture, in its order."""
    return " ".join(unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))).split())


def sheet(chromium: str, out: Path) -> None:
    """The first page of the sheet of the same case."""
    from diag.show.sheet import sheet_of
    from diag.show.sheet_text import sheet_text

    with TemporaryDirectory() as folder:
        page = Path(folder) / "sheet.html"
        page.write_text(
            sheet_text(sheet_of(session(), datetime(2024, 5, 31, 16, 45), "diag"), ".html"), encoding="utf-8"
        )
        sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        command = [chromium, "--headless", "--disable-gpu", "--hide-scrollbars", f"--user-data-dir={folder}/profile"]
        size = [f"--window-size={WIDTH},{HEIGHT}", f"--screenshot={out}"]
        subprocess.run([*command, *sandbox, *size, page.as_uri()], check=True, capture_output=True, timeout=120)


def main() -> None:
    TERMINAL.write_text(terminal(), encoding="utf-8", newline="\n")
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        sys.exit(f"no Chromium here: {SHEET.name} is left as it is")
    sheet(chromium, SHEET)


if __name__ == "__main__":
    main()
