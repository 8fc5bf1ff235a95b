"""diag: a cooling-system fault-tree diagnostic assistant.

The same as the commands, as functions and frozen types; nothing is imported before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_PUBLIC = {
    "FaultTree": "diag.explain.fault_tree",
    "Inference": "diag.network.inference",
    "Network": "diag.network.model",
    "Session": "diag.session",
    "Settings": "diag.plan",
    "analyse_tree": "diag.explain.fault_tree",
    "load_knowledge": "diag.session",
    "read_tree": "diag.explain.fault_tree",
}

__all__ = ["FaultTree", "Inference", "Network", "Session", "Settings", "analyse_tree", "load_knowledge", "read_tree"]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'diag' has no attribute {name!r}")
