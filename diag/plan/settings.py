"""What the user may set: prices of time, tools at hand, how sure is sure enough. Never asked for."""

from __future__ import annotations

from dataclasses import dataclass

SI, IMPERIAL = "si", "imperial"


@dataclass(frozen=True, slots=True)
class Settings:
    """Defaults are judgement, for a home workshop.

    hour: price of an hour of own work, in the user's currency. waiting_hour: of an hour that only passes.
    attention_minutes: what every step costs besides its own minutes. certainty: probability of the leader at
    which testing may stop. least_gain: bits below which nothing is proposed. missing_tool: price of a tool
    that is not at hand. ending: price of ending it without finding the cause (another engine, a workshop).
    bit_worth: what a bit may cost where it can be had now or never. tools: those at hand, None where
    nothing was said (all are taken to be there). units: ``si``, or ``imperial`` for imperial figures
    beside the metric ones on the screen; what is recorded may be in any unit.
    """

    hour: float = 25.0
    waiting_hour: float = 2.0
    attention_minutes: float = 15.0
    certainty: float = 0.95
    least_gain: float = 0.02
    missing_tool: float = 25.0
    ending: float = 2500.0
    bit_worth: float = 40.0
    tools: frozenset[str] | None = None
    units: str = SI

    @property
    def imperial(self) -> bool:
        """Whether imperial figures are wanted beside the metric ones."""
        return self.units == IMPERIAL

    @property
    def step(self) -> float:
        """Price of one step of attention."""
        return self.hour * self.attention_minutes / 60
