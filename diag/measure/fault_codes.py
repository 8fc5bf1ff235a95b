"""Stored fault codes: what a reader shows, into the states of the findings that codes stand for.

A code says that a monitored test failed, not that a part is bad. Who reads codes out tells all of them: a finding whose
codes are not among them is in its ordinary state.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from diag.knowledge.types import Finding
from diag.measure.misread import Refused

NONE = "none"
NEIGHBOURS = "neighbours"
_CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
_OF_CYLINDER = re.compile(r"P03(0[1-9]|1[0-2])")


def read_codes(text: str) -> tuple[str, ...]:
    """The codes in a text such as ``P0128 P0301``; none for ``none``. Raises Refused."""
    words = [word.upper() for word in re.split(r"[\s,;]+", text.strip()) if word]
    if words == [NONE.upper()]:
        return ()
    for word in words:
        if not _CODE.fullmatch(word):
            raise Refused(f"'{word}' is no fault code.", "Write them as the reader shows them, P0128 P0301, or none.")
    return tuple(dict.fromkeys(words))


def state_told(finding: Finding, codes: Iterable[str]) -> str:
    """The state of a finding that these are all the codes of; two cylinders beside each other are neighbours."""
    told = [code for code in codes if code in finding.codes]
    if not told:
        return finding.states[0]
    if NEIGHBOURS in finding.states and _beside(told):
        return NEIGHBOURS
    return max((finding.codes[code] for code in told), key=finding.states.index)


def cylinder_of(code: str) -> int | None:
    """The cylinder that a misfire code names (SAE J2012, from memory: P0301 to P0312), or None."""
    found = _OF_CYLINDER.fullmatch(code)
    return int(found.group(1)) if found else None


def _beside(codes: Sequence[str]) -> bool:
    """Two cylinders, numbered one after the other: beside each other in an engine in line, the common case."""
    cylinders = sorted(number for number in map(cylinder_of, codes) if number is not None)
    return len(cylinders) == 2 and cylinders[1] == cylinders[0] + 1
