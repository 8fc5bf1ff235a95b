"""diag: a cooling-system fault-tree diagnostic assistant.

The same as the commands, as functions and frozen types; nothing is imported before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_PUBLIC = {
    "Inference": "diag.network.inference",
    "Network": "diag.network.model",
    "Session": "diag.session",
    "Settings": "diag.plan",
    "load_knowledge": "diag.session",
}

__all__ = ["Inference", "Network", "Session", "Settings", "load_knowledge"]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'diag' has no attribute {name!r}")
