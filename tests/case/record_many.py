"""A program, not a test: records COUNT entries in the case FILE, one by one, each with WHO in it.

python record_many.py FILE WHO COUNT
"""

import sys
from pathlib import Path

from diag.case import FindingEntry, append

if __name__ == "__main__":
    path, who, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    for number in range(count):
        entry = FindingEntry(finding="bottom_hose_cold", state="yes", by=who, note=str(number))
        append(path, [entry], knowledge="k1", timeout=60)
