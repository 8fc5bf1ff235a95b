"""Any text as one line of YAML that every reader reads as the same text.

A file of ours holds no character that nobody can see, not even as a YAML escape (``diag.text``
refuses them). Such a character is written in a form of our own, ``\\u{1b}``, which ``as_told`` turns
back; a backslash that would read as the beginning of that form is written ``\\u{5c}``.
"""

from __future__ import annotations

import re

from diag.text import unseen_character

# Words that some readers of YAML take for something else than text.
_RESERVED = frozenset({"y", "n", "yes", "no", "on", "off", "true", "false", "null"})
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?: [A-Za-z0-9_]+)*")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
_SHOWN = re.compile(r"\\u\{([0-9a-f]{1,6})\}")
_HIGHEST = 0x10FFFF


def scalar(text: str) -> str:
    """``text`` as one YAML scalar in one line: plain words as they are, all else in double quotes."""
    visible = shown(text)
    if _PLAIN.fullmatch(visible) and visible.lower() not in _RESERVED:
        return visible
    return '"' + "".join(_escaped(character) for character in visible) + '"'


def as_told(written: str) -> str:
    """The text that ``scalar`` was given, from the text that the YAML reader gave back."""
    return _SHOWN.sub(_unshown, written)


def shown(text: str) -> str:
    """``text`` with the characters that nobody can see written out: safe in a file and on a screen."""
    guarded = _SHOWN.sub(lambda match: "\\u{5c}" + match.group()[1:], text)
    if unseen_character(guarded) is None:
        return guarded
    return "".join(f"\\u{{{ord(c):x}}}" if unseen_character(c) else c for c in guarded)


def _unshown(match: re.Match[str]) -> str:
    code = int(match.group(1), 16)
    return chr(code) if code <= _HIGHEST else match.group()


def _escaped(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    if character.isprintable():
        return character
    code = ord(character)
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"
