"""Which ids a base declares and what states they have: all that reading a reference needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diag.text import Mark, Node, Problem, TextNode, did_you_mean

TWO_STATES = ("no", "yes")

ONE = {
    "causes": "cause",
    "effects": "effect",
    "findings": "finding",
    "tests": "test",
    "history": "history fact",
    "fittings": "fitting",
    "access": "access step",
    "locks": "lock",
    "hazards": "hazard",
    "references": "reference",
    "model": "model number",
    "parts": "part",
    "troubles": "trouble",
    "gates": "gate of the first start",
    "twins": "pair of twin cases",
}
_CODES = {"access": "unknown-access", "hazards": "unknown-hazard", "fittings": "unknown-fitting"}
UNKNOWN_CODES = ("unknown-id", *_CODES.values())


@dataclass(frozen=True, slots=True)
class Known:
    """Ids by section, states by id (effects and findings), new ids of renamed entries, places of those taken out."""

    sections: Mapping[str, Mapping[str, tuple[str, ...]]]
    renamed: Mapping[str, str]
    gone: Mapping[str, Mark] = field(default_factory=dict)

    def has(self, node: Node, section: str, problems: list[Problem]) -> bool:
        """Whether ``node`` is an id of ``section``; where not, the problem is added."""
        if isinstance(node, TextNode) and node.value in self.sections[section]:
            return True
        problems.append(self._unknown(node, section))
        return False

    def _unknown(self, node: Node, section: str) -> Problem:
        code = _CODES.get(section, "unknown-id")
        word = node.value if isinstance(node, TextNode) else ""
        message = f"there is no {ONE[section]} {word!r}."
        return Problem(node.mark, code, message, self._hint(word, section))

    def _hint(self, word: str, section: str) -> str:
        if word in self.renamed:
            return f"It is called {self.renamed[word]} now."
        if word in self.gone:
            return f"It is taken out in {self.gone[word]}."
        other = next((ONE[name] for name, ids in self.sections.items() if word in ids), None)
        if other:
            return f"{word} is the name of a {other}."
        return did_you_mean(word, self.sections[section]) or "Write the entry, or name one that is there."
