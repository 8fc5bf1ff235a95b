"""Temperatures taken at several places at once, into the differences that findings go by."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from diag.knowledge.types import Finding
from diag.measure.misread import Refused

_ONE = re.compile(r"([a-z_]+)\s*([-+−]?\d+(?:\.\d+)?)\s*([°a-zA-Z]*)")
HINT = "Write the place and its figure, such as housing 92, bottom 41 C."


def read_places(text: str) -> tuple[dict[str, str], str]:
    """Figures by place, and their unit, from ``housing 92, bottom 41 C``. Raises Refused."""
    told: dict[str, str] = {}
    units: list[str] = []
    for part in re.split(r",\s+|;\s*", text.strip()):
        found = _ONE.fullmatch(part.strip())
        if found is None or found.group(1) in told:
            raise Refused(f"'{part}' is not a place with its temperature.", HINT)
        told[found.group(1)] = found.group(2)
        units += [found.group(3)] if found.group(3) else []
    if len(set(units)) != 1:
        raise Refused("one unit for all temperatures is wanted.", HINT)
    return told, units[0]


def differences_told(findings: Iterable[Finding], text: str) -> Mapping[str, str]:
    """By finding, the reading that temperatures at these places make; Refused where they make none."""
    told, unit = read_places(text)
    known: dict[str, None] = {}
    found = {}
    for finding in findings:
        between = finding.reading.between if finding.reading else ()
        known.update(dict.fromkeys(between))
        if between and all(place in told for place in between):
            found[finding.id] = f"{' '.join(told[place] for place in between)} {unit}"
    unknown = [place for place in told if place not in known]
    if unknown or not found:
        pairs = "; ".join(" and ".join(f.reading.between) for f in findings if f.reading and f.reading.between)
        what = f"no place is called '{unknown[0]}'" if unknown else "these places make no pair"
        raise Refused(f"{what}.", f"Pairs are: {pairs}.")
    return found
