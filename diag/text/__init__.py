"""YAML as text with positions: mark, problem, node, document; nearest words for hints; files written whole."""

from diag.text.document import decode, parse, parse_bytes, read, read_bytes, yaml_engine
from diag.text.mark import Mark
from diag.text.nearest import did_you_mean, nearest
from diag.text.node import ListNode, MapNode, Node, TextNode, kind_of
from diag.text.problem import Problem, ProblemsFound, Severity
from diag.text.table import html_table, text_table
from diag.text.unseen import unseen_character
from diag.text.write import write_text

__all__ = [
    "ListNode",
    "MapNode",
    "Mark",
    "Node",
    "Problem",
    "ProblemsFound",
    "Severity",
    "TextNode",
    "decode",
    "did_you_mean",
    "html_table",
    "kind_of",
    "nearest",
    "parse",
    "parse_bytes",
    "read",
    "read_bytes",
    "text_table",
    "unseen_character",
    "write_text",
    "yaml_engine",
]
