"""What planning policies came to on simulated vehicles."""

from __future__ import annotations

from typing import Any

from diag.plan.policies import OURS
from diag.plan.simulation import Score, Simulation
from diag.show.as_json import plain
from diag.show.page import Page

_WORDS = {
    "ours": "this tool",
    "gain_only": "what tells most",
    "gain_per_cost": "what tells most for its cost",
    "cheapest_first": "the cheapest first",
    "likeliest_first": "the likeliest cause first",
    "fixed_order": "a fixed order",
    "random": "at random",
}


def simulation_data(simulation: Simulation) -> dict[str, Any]:
    """Per policy the fields of ``diag simulate --json``, then how it was done."""
    told: dict[str, Any] = plain(simulation)
    return {**told.pop("policies"), **told}


def simulation_page(simulation: Simulation) -> Page:
    """One policy a paragraph, the cheapest first."""
    page = Page()
    drawn = f", drawn from {simulation.truths} shaken networks" if simulation.truths > 1 else ""
    page.title(f"{simulation.vehicles} simulated vehicles{drawn} (seed {simulation.seed})")
    page.say(
        "Mean cost of a vehicle: questions, tests, wrong repairs, and the price of ending it. The repair that helps is "
        "the same for all and left out. What is believed of a vehicle is a sample of the network, not exact."
    )
    for name, score in sorted(simulation.policies.items(), key=lambda item: (item[1].mean_cost, item[0])):
        page.say(f"{_WORDS[name]} ({name}): {score.mean_cost:.0f}{_beside(name, score)}", 2, "-")
        ended = f", ended without the cause {score.ended:.3f}" if score.ended > 0 else ""
        page.say(
            f"half of them below {score.median_cost:.0f}; {score.tests_done:.1f} acts, wrong repairs "
            f"{score.wrong_repairs:.2f}{ended} a vehicle",
            4,
        )
        if simulation.truths > 1 and name != OURS:
            page.say(f"dearer than this tool in {simulation.signs[name]} of {simulation.truths} networks", 4)
    return page


def _beside(name: str, score: Score) -> str:
    if name == OURS:
        return ""
    low, high = score.interval
    return f"; {score.difference:+.0f} against this tool (95 %: {low:+.0f} to {high:+.0f})"
