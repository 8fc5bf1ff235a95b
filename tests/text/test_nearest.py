"""Nearest words: slips, swapped parts, a fixed order, silence where nothing is near."""

from __future__ import annotations

import pytest

from diag.text import did_you_mean, nearest

KNOWN = (
    "thermostat_stuck_closed",
    "thermostat_stuck_open",
    "thermostat_sluggish",
    "pump_worn",
    "belt_lost",
    "cap_weak",
)


@pytest.mark.parametrize(
    ("word", "first"),
    [
        ("thermostat_stuck_close", "thermostat_stuck_closed"),
        ("stuck_open_thermostat", "thermostat_stuck_open"),
        ("pmup_worn", "pump_worn"),
        ("Belt lost", "belt_lost"),
        ("cap-weak", "cap_weak"),
    ],
)
def test_a_slip_finds_the_word_that_was_meant(word: str, first: str) -> None:
    assert nearest(word, KNOWN)[0] == first


def test_at_most_three_and_the_nearest_first() -> None:
    known = [f"hose_{letter}" for letter in "edcba"]
    # All five are one letter away: equal likeness goes by the alphabet.
    assert nearest("hose_x", known) == ("hose_a", "hose_b", "hose_c")
    assert nearest("hose_x", reversed(known), limit=1) == ("hose_a",)


def test_nothing_near_is_no_guess() -> None:
    assert nearest("qqqq", KNOWN) == ()
    assert did_you_mean("qqqq", KNOWN) == ""


def test_the_hint_names_them() -> None:
    assert did_you_mean("hose_x", ["hose_b", "hose_a", "cap"]) == "Did you mean hose_a or hose_b?"
