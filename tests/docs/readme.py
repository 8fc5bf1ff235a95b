"""The README's blocks: run them, and write what they print; its picture of the terminal too.

Run: python tests/docs/readme.py
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

README = Path(__file__).resolve().parents[2] / "README.md"
CONSOLE = re.compile(r"(```console\n)(.*?)(```)", re.DOTALL)
PYTHON = re.compile(r"```python\n(.*?)```\n\n```\n(.*?)```", re.DOTALL)
COMMANDS = re.compile(r"(<!-- commands -->\n)(.*?)(<!-- end of commands -->)", re.DOTALL)
RUN = [sys.executable, "-c", "from diag.cli.main import main; main()"]


def with_fresh_outputs(text: str) -> str:
    """The text with every console block's output and the command list made anew."""
    with tempfile.TemporaryDirectory() as folder:
        text = CONSOLE.sub(lambda block: block[1] + _played(block[2], Path(folder)) + block[3], text)
    return COMMANDS.sub(lambda block: block[1] + command_list() + block[3], text)


def _played(block: str, folder: Path) -> str:
    lines = []
    for line in block.splitlines():
        if line.startswith("$ diag "):
            lines += [line, *_output(line.removeprefix("$ diag "), folder)]
    return "\n".join(lines) + "\n"


def _output(arguments: str, folder: Path) -> list[str]:
    environment = {**os.environ, "COLUMNS": "80", "PYTHONUTF8": "1"}
    ran = subprocess.run(
        [*RUN, *shlex.split(arguments)], cwd=folder, env=environment, capture_output=True, text=True, check=True
    )
    return [line.rstrip() for line in ran.stdout.rstrip().splitlines()]


def command_list() -> str:
    """Every command with the first sentence of its help."""
    from typer.main import get_command

    from diag.cli.main import app

    rows = []
    for name, command in get_command(app).commands.items():  # type: ignore[attr-defined]
        first = " ".join((command.help or "").split("\n\n")[0].split())
        rows.append(f"| `diag {name}` | {first} |\n")
    return "| command | does |\n|---|---|\n" + "".join(rows)


def python_examples(text: str) -> list[tuple[str, str]]:
    """Each Python block and what the README says that it prints."""
    return PYTHON.findall(text)


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from docs.pictures import TERMINAL, terminal

    TERMINAL.write_text(terminal(), encoding="utf-8", newline="\n")
    README.write_text(with_fresh_outputs(README.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
