"""An answer told under the wrong circumstance says that it does not count."""

import pytest

from diag.case import FindingEntry
from diag.session import load_knowledge
from diag.show.case import entry_text


@pytest.mark.parametrize(
    ("when", "says"), [(("cold",), "counts for nothing"), (("unknown",), "counts less"), (("hot",), ""), ((), "")]
)
def test_circumstances_are_told(when, says):
    knowledge = load_knowledge()
    assert "hot" in knowledge.findings["fan_silent_hot"].condition
    text = entry_text(FindingEntry(finding="fan_silent_hot", state="yes", when=when), knowledge)
    assert says in text
    assert ("counts" in text) == bool(says)
