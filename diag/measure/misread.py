"""Why a text is no reading: a value for whoever asks, an exception on the way to it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Misread:
    """What is wrong with a reading, and what would fit; ``offset`` is where in the text, from 0."""

    message: str
    hint: str
    offset: int = 0


class Refused(Exception):
    """Ends the reading of a text; caught where the text came in and given back as a Misread."""

    def __init__(self, message: str, hint: str, offset: int = 0) -> None:
        super().__init__(message)
        self.misread = Misread(message, hint, offset)
