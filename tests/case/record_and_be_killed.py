"""A program, not a test: forks recorders, kills each at a random time, and tells what is left on the disk.

    python record_and_be_killed.py FOLDER KILLS SEED

It prints one line of JSON a kill: how many entries the recorder had acknowledged, how many are in the file,
whether the bytes before are still the beginning, and what problem reading it met ("" where none).
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from diag.case import FindingEntry, append, create, load
from diag.text import ProblemsFound

KILLS_A_FILE = 20
LONGEST_LIFE = 0.06  # seconds; an entry takes about a tenth of it


def record_for_ever(path: Path, pipe: int) -> None:
    entry = FindingEntry(finding="bottom_hose_cold", state="yes", note="seen again")
    while True:
        append(path, [entry], knowledge="k1", timeout=5)
        os.write(pipe, b".")


def start_recorder(path: Path) -> tuple[int, int]:
    """The process id of a recorder and the end of the pipe that its acknowledgements come out of."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            record_for_ever(path, writing)
        finally:
            os._exit(1)
    os.close(writing)
    return child, reading


def kill_after(seconds: float, child: int, reading: int) -> int:
    """Kills the recorder and gives the number of entries that it had acknowledged."""
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the recorder ended before it was killed"
    acknowledged = 0
    while told := os.read(reading, 65536):
        acknowledged += len(told)
    os.close(reading)
    return acknowledged


def one_kill(path: Path, life: float) -> dict[str, object]:
    before, had = path.read_bytes(), load(path).last_number
    acknowledged = kill_after(life, *start_recorder(path))
    try:
        case, problem = load(path), ""
        assert [entry.number for entry in case.entries] == list(range(1, case.last_number + 1))
        added = case.last_number - had
    except ProblemsFound as error:
        added, problem = -1, str(error)
    kept = path.read_bytes().startswith(before)
    scraps = len(list(path.parent.glob(f".{path.name}.*")))
    return {"acknowledged": acknowledged, "added": added, "kept": kept, "scraps": scraps, "problem": problem}


def main(folder: Path, kills: int, seed: int) -> None:
    chance = random.Random(seed)
    for number in range(kills):
        path = folder / f"case{number // KILLS_A_FILE}.yaml"
        if number % KILLS_A_FILE == 0:
            create(path, "grey tractor", {}, knowledge="k1")
        print(json.dumps(one_kill(path, chance.uniform(0.0, LONGEST_LIFE))), flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
