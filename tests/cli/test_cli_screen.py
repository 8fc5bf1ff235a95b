"""What a person sees: 80 columns, plain when piped, words before numbers, hostile text made harmless."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

HOSTILE = "\x1b[31mred\x1b[0m [bold]loud[/bold] \u202eback \x07 line\nnext"
SHOWN = "\\u{1b}[31mred\\u{1b}[0m [bold]loud[/bold] \\u{202e}back \\u{7} line\\nnext"
SCREENS = [("status",), ("causes",), ("next",), ("causes", "--numbers"), ("next", "--numbers")]


def diag(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own, its output piped."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "diag.cli.main", *arguments],
        cwd=cwd,
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **environment},
    )


@pytest.mark.parametrize("command", SCREENS)
def test_screens_fit_80_columns_in_plain_ascii(run, hot, command):
    run("record", hot, "running=yes", "pump_noisy=yes")
    ran = run(*command, hot)
    assert ran.code == 0
    assert ran.out.isascii()
    assert "\x1b" not in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    assert all(line == line.rstrip() for line in ran.out.splitlines())


@pytest.mark.parametrize("command", SCREENS[:3])
def test_hostile_text_is_shown_as_text(run, command):
    run("new", "a.yaml", "--complaint", "gauge=high", "--vehicle", HOSTILE, "--note", HOSTILE)
    run("record", "a.yaml", "puddle=yes", "--by", HOSTILE, "--note", HOSTILE, "--with", HOSTILE)
    ran = run(*command, "a.yaml")
    assert ran.code == 0
    assert SHOWN in " ".join(ran.out.split())
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", ran.out)
    answer = run("status", "a.yaml", "--json").json
    assert answer["vehicle"] == HOSTILE
    assert answer["entries"][2]["by"] == HOSTILE


@pytest.mark.usefixtures("hot")
@pytest.mark.parametrize(
    "arguments",
    [
        ("show", HOSTILE),
        ("status", HOSTILE.replace("\n", "")),
        ("record", "hot.yaml", f"{HOSTILE}=yes"),
        ("record", "hot.yaml", f"puddle={HOSTILE}"),
        ("confirm", "hot.yaml", HOSTILE),
        ("settings", "hot.yaml", f"hour={HOSTILE}"),
        ("validate", "--explain", HOSTILE),
        ("settings", f"={HOSTILE}="),
        ("new", "b.yaml", "--fitted", HOSTILE, "--not-fitted", HOSTILE),
    ],
)
def test_hostile_text_in_what_was_typed_is_shown_as_text(run, arguments):
    ran = run(*arguments)
    assert ran.code in (1, 2)
    assert ran.err
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", ran.out + ran.err)


def test_numbers_come_only_when_asked_for(run, hot):
    assert "bits" not in run("next", hot).out
    assert "%" not in run("causes", hot).out
    assert re.search(r"\d\.\d{3} bits", run("next", hot, "--numbers").out)
    assert re.search(r"\d\.\d %", run("causes", hot, "--numbers").out)
    assert not re.search(r"\d\.\d", run("causes", hot).out + run("next", hot).out)


def test_job_card_says_all_that_is_needed(run, hot):
    out = " ".join(run("next", hot).out.split())
    for part in (
        "Ask these now",
        "Is there a puddle below the engine?",
        "record: puddle=no | puddle=yes",
        "Do this next: look at level and floor",
        "4 minutes, nothing to buy",
        "First: engine cold (cold).",
        "Tools: bare hands.",
        "1. Look at the tank.",
        "puddle=yes - wet floor",
        "then leads: hose split",
        "Record it, for example: diag record hot.yaml level_low=no puddle=no",
        "Or - listen to the pump (listen_to_pump): tells some",
        "The tool advises, the trade decides.",
    ):
        assert part in out


@pytest.mark.parametrize("command", ["causes", "next"])
def test_screen_says_where_the_case_stands(run, command):
    run("new", "a.yaml")
    assert "No complaint is told yet" in run(command, "a.yaml").out
    run("record", "a.yaml", "puddle=yes")
    assert "No complaint is told yet" not in run(command, "a.yaml").out
    run("confirm", "a.yaml", "hose_split")
    assert "This case is closed: hose split." in run(command, "a.yaml").out
    run("confirm", "a.yaml", "not_found")
    assert "This case is closed: the cause was not found." in run(command, "a.yaml").out


def test_card_of_a_risky_test_has_its_cautions_before_its_steps(run, hot):
    run("record", hot, "cold=no", "level_low=no", "puddle=no")
    out = run("next", hot).out
    assert "Do this next: listen to the pump" in out
    assert out.index("Keep sleeves and hair away") < out.index("1. Start it.")
    assert "What makes it lie: An alternator may grind too." in out


def test_piped_output_is_plain_and_survives_a_poor_encoding(tiny_base, tmp_path):
    knowledge = ("--knowledge", str(tiny_base))
    made = diag(*knowledge, "new", "a.yaml", "--vehicle", "Škoda-grün ✓", "--complaint", "puddle", cwd=tmp_path)
    assert (made.returncode, made.stderr) == (0, b"")
    for command in ("status", "causes", "next"):
        ran = diag(*knowledge, command, "a.yaml", cwd=tmp_path, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        assert (ran.returncode, ran.stderr) == (0, b"")
        assert b"\x1b" not in ran.stdout
        assert b"koda-gr" in ran.stdout


def test_everyday_command_imports_nothing_heavy(tiny_base, tmp_path):
    knowledge = ("--knowledge", str(tiny_base))
    diag(*knowledge, "new", "a.yaml", "--complaint", "puddle", cwd=tmp_path)
    program = (
        "import sys, json\n"
        f"sys.argv = ['diag', '--knowledge', {str(tiny_base)!r}, *sys.argv[1:]]\n"
        "from diag.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(json.dumps(sorted({name.partition('.')[0] for name in sys.modules})), file=sys.stderr)\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}

    def imported(*arguments: str) -> set[str]:
        command = [sys.executable, "-c", program, *arguments]
        ran = subprocess.run(command, cwd=tmp_path, capture_output=True, check=True, env=environment)
        assert ran.stdout
        return set(json.loads(ran.stderr))

    assert not imported("causes", "a.yaml") & {"pgmpy", "networkx", "scipy", "pandas", "pint", "pyagrum", "torch"}
    assert "numpy" in imported("causes", "a.yaml")  # or the line above would watch the wrong process
    for command in (("status", "a.yaml"), ("record", "a.yaml", "level_low=no"), ("find", "pump"), ("show", "puddle")):
        assert "numpy" not in imported(*command)
