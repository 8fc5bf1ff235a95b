"""What a case of four stages costs beside one stage: time of the list of causes, and memory.

Run: python tests/benchmarks/stages.py

Twelve findings on the shipped base. Figures are of one run on one machine, processor time; nothing here is asserted.
"""

from __future__ import annotations

import os
import resource
import time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

from diag.case import Case, Entry, OpenedEntry, RepairEntry, as_entries  # noqa: E402
from diag.explain import likely_causes  # noqa: E402
from diag.session import Session, load_knowledge  # noqa: E402

SEEN = (
    ("heater_cold=yes", "bottom_hose_cold=yes", "overheats_at_load=yes"),
    ("overheats_standing=yes", "heater_cold=poor", "gauge_shows=high"),
    ("overheats_standing=yes", "gurgles_after_stop=yes", "coolant_level_drops=yes"),
    ("overheats_standing=yes", "bubbles_in_tank=no", "hoses_hard_soon=no"),
)
REPAIRED = ("thermostat", "air_lock", "head_gasket")
RUNS = 5


def case(stages: int) -> Case:
    """The twelve findings, in one stage or parted by repairs."""
    knowledge = load_knowledge()
    entries: list[Entry] = [OpenedEntry(opened={})]
    for stage, seen in enumerate(SEEN):
        if stages > 1 and stage:
            entries.append(RepairEntry(repair=(REPAIRED[stage - 1],)))
        told, problems = as_entries(Case("", "", ()), knowledge, seen)
        assert not problems
        entries += told
    return Case("", "", tuple(entry.stamped(number, "", "") for number, entry in enumerate(entries, start=1)))


def seconds(stages: int) -> float:
    """The best of some runs: replay, compile and the list of causes."""
    told, knowledge, spent = case(stages), load_knowledge(), []
    for _ in range(RUNS):
        start = time.process_time()
        likely_causes(Session.of(told, knowledge).diagnosis)
        spent.append(time.process_time() - start)
    return min(spent)


def main() -> None:
    """Print the two times, their ratio and the memory."""
    one, four = seconds(1), seconds(4)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"one stage {one:.3f} s, four stages {four:.3f} s, {four / one:.1f} times; peak memory {memory:.0f} MB")


if __name__ == "__main__":
    main()
