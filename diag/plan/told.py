"""The settings that a case tells, over the defaults."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

from diag.case import Case, SettingEntry, in_force
from diag.knowledge.types import Knowledge
from diag.plan.settings import IMPERIAL, SI, Settings
from diag.text import Problem, did_you_mean

NAMES = tuple(field.name for field in fields(Settings))
ANY = "any"  # for tools: nothing said, all are taken to be there
NONE = "none"  # for tools: bare hands

# Smallest and largest figure that makes sense; a certainty or a price beyond is a slip of the pen.
_LIMITS = {
    "hour": (0.01, 100_000.0),
    "waiting_hour": (0.0, 100_000.0),
    "attention_minutes": (0.0, 600.0),
    "certainty": (0.5, 0.9999),
    "least_gain": (0.0001, 5.0),
    "missing_tool": (0.0, 100_000.0),
    "ending": (0.0, 10_000_000.0),
    "bit_worth": (0.0, 100_000.0),
}


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a setting cannot be taken."""

    message: str
    hint: str


def settings_of(case: Case, knowledge: Knowledge | None = None) -> tuple[Settings, list[Problem]]:
    """The settings in force in ``case``, and those that cannot be taken, sorted; tools must be known to a test."""
    settings = Settings()
    problems = []
    for entry in in_force(case):
        if isinstance(entry, SettingEntry):
            changed = changed_by(settings, entry, knowledge)
            if isinstance(changed, Problem):
                problems.append(changed)
            else:
                settings = changed
    return settings, sorted(problems)


def changed_by(settings: Settings, entry: SettingEntry, knowledge: Knowledge | None = None) -> Settings | Problem:
    """``settings`` with that of ``entry``, or what is wrong with it."""
    told = read_setting(entry.setting, entry.value)
    if isinstance(told, frozenset) and knowledge is not None:
        told = _known_tools(told, knowledge)
    if isinstance(told, Refused):
        key = "value" if entry.setting in NAMES else "setting"
        return Problem(entry.at(key), "wrong-setting", told.message, told.hint)
    values: dict[str, Any] = {entry.setting: told}
    return replace(settings, **values)


def read_setting(name: str, value: str) -> float | str | frozenset[str] | Refused | None:
    """The value that ``value`` tells for the setting ``name``."""
    if name not in NAMES:
        hint = did_you_mean(name, NAMES) or f"Known are {', '.join(NAMES)}."
        return Refused(f"there is no setting '{name}'.", hint)
    if name == "tools":
        tools = frozenset(word.strip() for word in value.split(",") if word.strip())
        return None if tools == {ANY} else frozenset() if tools == {NONE} else tools
    if name == "units":
        return value if value in (SI, IMPERIAL) else Refused(f"units cannot be {value}.", f"Write {SI} or {IMPERIAL}.")
    return _figure(name, value)


def _known_tools(tools: frozenset[str], knowledge: Knowledge) -> frozenset[str] | Refused:
    known = {tool for test in knowledge.tests.values() for tool in test.tools}
    for tool in sorted(tools - known):
        hint = did_you_mean(tool, known) or "'diag show TEST' names the tools of a test; tools=none is bare hands."
        return Refused(f"no test needs a tool '{tool}'.", hint)
    return tools


def _figure(name: str, value: str) -> float | Refused:
    low, high = _LIMITS[name]
    hint = f"Write a number from {low:g} to {high:g}."
    try:
        figure = float(value)
    except ValueError:
        return Refused(f"'{value}' is not a number.", hint)
    if not low <= figure <= high:
        return Refused(f"{name} cannot be {value}.", hint)
    return figure
