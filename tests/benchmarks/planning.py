"""How long planning on the shipped base takes, on one core: the ranking by one step, the plan of two.

Run: python tests/benchmarks/planning.py

Figures are of one run on one machine, in seconds of processor time; nothing here is asserted.
"""

from __future__ import annotations

import os
import platform
import time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

from importlib.metadata import version  # noqa: E402

from diag.case import Case, as_entries  # noqa: E402
from diag.session import Session, load_knowledge  # noqa: E402

CASES = (
    "electric_fan=yes overheats_standing=yes overheats_at_load=no coolant_level_seen=full",
    "coolant_level_drops=yes leak_visible=no overheats_standing=no",
    "coolant_level_drops=yes hoses_hard_soon=yes leak_visible=no white_sweet_exhaust=no oil_milky=no",
)
RUNS = 3


def session(told: str) -> Session:
    """A case in memory."""
    knowledge = load_knowledge()
    entries, problems = as_entries(Case(file="", vehicle="", entries=()), knowledge, told.split())
    assert not problems
    numbered = tuple(entry.stamped(number, "", "") for number, entry in enumerate(entries, start=1))
    return Session.of(Case(file="", vehicle="", entries=numbered), knowledge)


def main() -> None:
    """Print the medians."""
    print(f"python {platform.python_version()}, numpy {version('numpy')}, one thread, {RUNS} runs each")
    for told in CASES:
        ranked, planned = [], []
        for _ in range(RUNS):
            case = session(told)
            start = time.process_time()
            assert case.ranking.tests
            ranked.append(time.process_time() - start)
            start = time.process_time()
            case.plan(2)
            planned.append(time.process_time() - start)
        print(f"{told}\n  ranking {sorted(ranked)[1]:.2f} s, two-step plan after it {sorted(planned)[1]:.2f} s")


if __name__ == "__main__":
    main()
