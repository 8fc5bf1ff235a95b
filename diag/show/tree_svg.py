"""A fault tree on one A4 page: an outline of rows with the symbols of the trade, written as plain SVG.

Lengths in mm. Gate symbols are those of IEC 60617-12 (>=1, &, >=k); a circle is a basic event, a triangle a transfer
to where it is opened, a diamond what is not taken apart (IEC 61025, Fault Tree Handbook ch. IV). The likely path is
told by thick lines and bold words, not by a colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from xml.sax.saxutils import escape

from diag.explain.fault_tree.branches import Branch, Fold, Inputs, Node, Row, fitting, likely_path, rows, walk
from diag.show.branches import Heading, folded_words, named, rarely, remarks
from diag.show.clean import visible

WIDTH, HEIGHT, MARGIN = 210.0, 297.0, 12.0
HEAD, FOOT = 30.0, 32.0
PATH_LINES = 3
ROW, STEP, SYMBOL = 5.6, 5.0, 4.2
TITLE, TEXT, SMALL = 4.4, 3.2, 2.7  # 12.5, 9 and 7.7 points
COLUMN = 30.0  # of a chance in words
LETTER, BOLD = 0.51, 1.08  # mean width of a letter in sizes of the text, in a wide face; bold ones are wider
ROWS = int((HEIGHT - HEAD - FOOT) / ROW)


def tree_svg(top: Node, inputs: Inputs, fold: Fold, heading: Heading) -> str:
    """The tree as SVG; as many of its branches as fit on the page, the least likely ones folded, which is said."""
    branch, used = fitting(top, inputs, ROWS, fold)
    shown = list(rows(branch))[:ROWS]
    parts = [*_head(heading), *_lines(shown), *(part for i, row in enumerate(shown) for part in _row(i, row, heading))]
    parts += _foot(branch, used, len(shown))
    size = f'width="{WIDTH:g}mm" height="{HEIGHT:g}mm" viewBox="0 0 {WIDTH:g} {HEIGHT:g}"'
    background = f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="white"/>'
    body = "\n".join([f"<title>{_safe(heading.title)}</title>", background, *parts])
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif">\n{body}\n</svg>\n'


def _head(heading: Heading) -> Iterator[str]:
    room = WIDTH - 2 * MARGIN
    lines = wrap(heading.title, int(room / (TITLE * LETTER * BOLD)))[:2]
    for place, line in enumerate(lines):
        yield _text(MARGIN, 18 - 5 * (len(lines) - 1 - place), line, TITLE, room, bold=True)
    yield _text(MARGIN, 23.5, heading.note, SMALL, room)
    for place, column in enumerate(heading.columns):
        yield _text(_column(place, heading), 27.5, column, SMALL, COLUMN, anchor="end")


def _lines(shown: Sequence[Row]) -> Iterator[str]:
    """From each event down to its inputs."""
    for place, row in enumerate(shown):
        if row.parent < 0:
            continue
        x = _left(row.level - 1) + SYMBOL / 2
        y, above = _middle(place), _middle(row.parent) + SYMBOL / 2
        width = 1.0 if row.branch and row.branch.on_path else 0.25
        path = f"M{x:.2f} {above:.2f}V{y:.2f}H{_left(row.level):.2f}"
        yield f'<path d="{path}" fill="none" stroke="black" stroke-width="{width:g}"/>'


def _row(place: int, row: Row, heading: Heading) -> Iterator[str]:
    left, base = _left(row.level), _middle(place) + TEXT * 0.35
    room = WIDTH - MARGIN - len(heading.columns) * COLUMN - left - SYMBOL - 2
    if row.branch is None:
        yield _text(left + 1, base, folded_words(row), SMALL, room + SYMBOL + len(heading.columns) * COLUMN)
        return
    bold, node = row.branch.on_path, row.branch.node
    yield from _symbol(left, _middle(place), row.branch)
    yield _text(left + SYMBOL + 1.2, base, "; ".join([named(node), *remarks(row.branch)]), TEXT, room, bold=bold)
    chances = (node.probability, node.prior)[: len(heading.columns)]
    for column, p in enumerate(chances):
        yield _text(_column(column, heading), base, heading.words(p), SMALL, COLUMN, bold=bold, anchor="end")


def _symbol(x: float, y: float, branch: Branch) -> Iterator[str]:
    half, node = SYMBOL / 2, branch.node
    line = f'fill="white" stroke="black" stroke-width="{0.7 if branch.on_path else 0.25:g}"'
    if branch.shared:
        yield f'<path d="M{x + half:.2f} {y - half:.2f}l{half:g} {SYMBOL:g}h{-SYMBOL:g}z" {line}/>'
    elif node.gate:
        yield f'<rect x="{x:.2f}" y="{y - half:.2f}" width="{SYMBOL:g}" height="{SYMBOL:g}" {line}/>'
        sign = {"or": "≥1", "k_of_n": f"≥{node.k}"}.get(node.gate, "&")
        yield _text(x + half, y + SMALL * 0.35, sign, SMALL, SYMBOL, anchor="middle")
    elif node.kind == "background":
        yield f'<path d="M{x:.2f} {y:.2f}l{half:g} {-half:g} {half:g} {half:g} {-half:g} {half:g}z" {line}/>'
    else:
        yield f'<circle cx="{x + half:.2f}" cy="{y:.2f}" r="{half:g}" {line}/>'


def _foot(branch: Branch, fold: Fold, shown: int) -> Iterator[str]:
    room = WIDTH - 2 * MARGIN
    path = ", then ".join(named(node) for node in reversed(likely_path(branch)))
    lines = wrap(f"Thick line, bold words: the likely path - {path}.", int(room / (SMALL * LETTER)))[:PATH_LINES]
    for place, line in enumerate(lines):
        yield _text(MARGIN, HEIGHT - FOOT + 5 + 4 * place, line, SMALL, room)
    folded = sum(one.folded for one in walk(branch))
    told = f"Not shown: what is behind it in less than {rarely(fold)} of the cases that have it. " if folded else ""
    missing = sum(1 for _ in rows(branch)) - shown
    cut = f"{missing} lines below do not fit on the page. " if missing else ""
    deeper = "Deeper levels are not opened." if any(one.deeper for one in walk(branch)) else ""
    yield _text(MARGIN, HEIGHT - 14, told + cut + deeper, SMALL, room)
    signs = (
        "Square: a gate (≥1 any input, & all of them, ≥k that many). Circle: a cause. Diamond: no fault. "
        "Triangle: see above."
    )
    yield _text(MARGIN, HEIGHT - 10, signs, SMALL, room)


def _text(
    x: float, y: float, words: str, size: float, room: float, *, bold: bool = False, anchor: str = "start"
) -> str:
    """One line, cut with dots where it would not fit into ``room``."""
    letters = int(room / (size * LETTER * (BOLD if bold else 1.0)))
    told = visible(words)
    cut = told if len(told) <= letters or anchor == "middle" else told[: letters - 3] + "..."
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" text-anchor="{anchor}"{weight}>{escape(cut)}</text>'


def _safe(words: str) -> str:
    return escape(visible(words))


def _left(level: int) -> float:
    return MARGIN + level * STEP


def _middle(place: int) -> float:
    return HEAD + (place + 0.5) * ROW


def _column(place: int, heading: Heading) -> float:
    return WIDTH - MARGIN - (len(heading.columns) - 1 - place) * COLUMN
