"""The interview through a terminal: from an empty file to the advice to stop, with a kill on the way."""

from __future__ import annotations

import os
import signal
import sys
from functools import cache
from pathlib import Path

import pytest

import diag
from diag.case import FindingEntry, UndoEntry, in_force, load
from diag.cli.interview_complaint import complaints
from diag.knowledge.types import Finding, HistoryFact, Knowledge
from diag.session import Session, load_knowledge

if sys.platform == "win32":
    pytest.skip("pexpect starts programs in a pseudo-terminal, which Windows has not got", allow_module_level=True)

pexpect = pytest.importorskip("pexpect")
# The parent forks before it has threads of its own; those of the linear algebra library do no harm there.
pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*forkpty:DeprecationWarning")

ROOT = Path(diag.__file__).parents[1]
PROMPT = "\r\n> "
SECONDS = 60
MOST_ANSWERS = 60
# What a thermostat stuck open shows; every other answer is the ordinary one.
SHOWN = {
    "warms_up_slowly": "yes",
    "top_hose_warms_at_once": "yes",
    "gauge_shows": "cold",
    "heater_cold": "u yes",
    "code_thermostat": "2",
    "warm_up_trace": "no_knee_low",
    "thermostat_pan_test": "stays_open",
}


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


def start(file: Path) -> pexpect.spawn:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb"}
    command = ["-m", "diag.cli.main", "interview", file.name]
    return pexpect.spawn(
        sys.executable,
        command,
        cwd=str(file.parent),
        env=environment,
        encoding="utf-8",
        timeout=SECONDS,
        dimensions=(50, 80),
    )


def flat(text: str) -> str:
    return " ".join(text.split())


def asked(before: str) -> Finding | HistoryFact | None:
    """What the prompt is about: the known question that stands last on the screen."""
    shown = flat(before)
    known = [*knowledge().findings.values(), *knowledge().history.values()]
    places = {entry.id: shown.rfind(f"? {flat(entry.question)}") for entry in known}
    last = max(places, key=lambda id: places[id])
    return None if places[last] < 0 else next(entry for entry in known if entry.id == last)


def answer(before: str) -> str:
    entry = asked(before)
    if entry is None:
        return "y"  # a fitting: the vehicle has it
    return SHOWN.get(entry.id, entry.states[0])


def complain(child: pexpect.spawn) -> None:
    """Says what it came in for, in words that somebody would use, and chooses from what they may mean."""
    child.expect("It came in because: ")
    child.sendline("takes long to get warm")
    child.expect(PROMPT)
    text = next(c.text for c in complaints(knowledge()) if c.finding == "warms_up_slowly")
    number = next(line.split(".")[0] for line in child.before.splitlines() if text in line)
    child.sendline(number.strip())
    child.expect("Anything else")
    child.sendline("")


def states(file: Path) -> dict[str, str]:
    return {entry.finding: entry.state for entry in in_force(load(file)) if isinstance(entry, FindingEntry)}


def state(id: str, number: int) -> str:
    return (knowledge().findings.get(id) or knowledge().history[id]).states[number - 1]


def first_question(child: pexpect.spawn) -> str:
    child.expect(PROMPT)
    entry = asked(child.before)
    assert entry is not None
    return entry.id


def test_from_an_empty_file_over_every_kind_of_answer_and_a_kill_to_the_advice_to_stop(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    child = start(file)
    complain(child)
    assert states(file) == {"warms_up_slowly": "yes"}

    first = first_question(child)  # answered, taken back, answered again as unsure
    child.sendline("1")
    assert first_question(child) != first
    assert states(file)[first] == state(first, 1)
    child.sendline("b")
    assert first_question(child) == first
    assert first not in states(file)
    child.sendline("u 2")
    second = first_question(child)
    assert states(file)[first] == f"unsure:{state(first, 2)}"
    child.sendline("d")  # not known: nothing is written
    third = first_question(child)
    assert second not in states(file)
    child.sendline("g")  # can never be seen now
    fourth = first_question(child)
    assert states(file)[third] == "gone"
    child.sendline("1")
    to_the_first_test(child)
    assert fourth in states(file)
    before = file.read_bytes()
    child.kill(signal.SIGKILL)
    child.wait()

    assert file.read_bytes() == before
    assert any(isinstance(entry, UndoEntry) for entry in load(file).entries)
    stopped = to_the_end(file)
    leader = Session.open(file, knowledge()).diagnosis.leader
    assert leader == "thermostat_stuck_open"
    assert f"diag confirm case.yaml {leader}" in stopped
    assert states(file)[third] == "gone"


def to_the_first_test(child: pexpect.spawn) -> None:
    """Waits for a test; what it needs the vehicle to have is asked before it, and not known here."""
    for _ in range(3):
        if child.expect(["Do this next: ", PROMPT]) == 0:
            return
        child.sendline("d")
    raise AssertionError("no test is proposed")


def to_the_end(file: Path) -> str:
    """Goes on with the case, truthfully, until the interview ends; the first test cannot be done here."""
    child = start(file)
    cannot = True
    for _ in range(MOST_ANSWERS):
        if child.expect([PROMPT, pexpect.EOF]) == 1:
            child.close()
            assert child.exitstatus == 0
            assert "Stop testing here" in child.before
            return flat(child.before)
        assert "It came in because" not in child.before
        if cannot and "Do this next: " in child.before:
            cannot = False
            child.sendline("c")
        else:
            child.sendline(answer(child.before))
    raise AssertionError("it never came to an end")


def test_ctrl_c_leaves_the_file_whole(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    child = start(file)
    complain(child)
    child.expect(PROMPT)
    child.sendintr()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130  # what a shell expects after Ctrl-C
    assert "Every answer is in case.yaml" in flat(child.before)
    assert states(file) == {"warms_up_slowly": "yes"}


def test_the_end_of_the_input_stops_it(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    child = start(file)
    child.expect("It came in because: ")
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert len(load(file).entries) == 1


def test_no_colour_is_needed_to_read_it(tmp_path: Path) -> None:
    child = start(tmp_path / "case.yaml")
    child.expect("It came in because: ")
    assert "Before anything else" in child.before
    assert "\x1b" not in child.before
