"""Small tables of text, for a notebook (HTML) and for a prompt. Every cell stays text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

Rows = Iterable[Sequence[str]]


def html_table(caption: str, head: Sequence[str], rows: Rows) -> str:
    """An HTML table with a caption and one heading a column."""
    heads = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><caption>{escape(caption)}</caption><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"


def text_table(caption: str, rows: Rows) -> str:
    """The caption, then one indented line a row, columns beside each other."""
    told = [[cell.replace("\n", " ") for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*told, strict=True)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in told]
    return "\n".join([caption, *(f"  {line}".rstrip() for line in lines)])
