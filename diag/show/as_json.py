"""Answers as JSON: one object, numbers unrounded, plain ASCII so that any terminal and pipe can carry it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Set
from dataclasses import fields, is_dataclass
from typing import Any

SCHEMA = 1


def to_json(answer: Mapping[str, Any]) -> str:
    """The JSON object of ``answer``, with ``schema`` before the rest."""
    return json.dumps({"schema": SCHEMA, **plain(answer)}, indent=2, allow_nan=False)


def plain(value: Any) -> Any:
    """Frozen data as dicts, lists, texts and numbers; the places (``mark``, ``marks``) of data are left out."""
    if is_dataclass(value):
        told = {field.name: getattr(value, field.name) for field in fields(value)}
        return {name: plain(v) for name, v in told.items() if name not in ("mark", "marks")}
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, Set):
        return sorted(plain(inner) for inner in value)
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    return value
