"""Every command's help: an example that the command takes, and a sentence for everything that can be told."""

from __future__ import annotations

import re
import shlex

import pytest
from typer.main import get_command

from diag.cli.main import app

COMMANDS = get_command(app).commands  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_has_an_example_that_the_command_takes(name, folder):
    """Typed as it stands it is no wrong use; files that it names need not be there to be read."""
    help = " ".join((COMMANDS[name].help or "").split())
    found = re.search(r"For example: diag (.+)$", help)
    assert found, f"the help of {name} has no 'For example: diag {name} ...' at its end"
    typed, *arguments = shlex.split(found[1])
    assert typed == name
    for word in arguments:
        if word.endswith(".yaml"):
            (folder / word).parent.mkdir(parents=True, exist_ok=True)
            (folder / word).write_text("", encoding="utf-8")
    with COMMANDS[name].make_context(name, arguments):
        pass


@pytest.mark.parametrize("name", COMMANDS)
def test_everything_that_can_be_told_is_explained(name):
    for parameter in COMMANDS[name].params:
        assert getattr(parameter, "help", "x") or parameter.name == "help", parameter.name
