"""Where gain and cost meet."""

from __future__ import annotations

from diag.plan.settings import Settings


def price(
    settings: Settings, minutes: float, waiting: float, money: float, tools_missing: int = 0, harm: float = 0.0
) -> float:
    """What an act costs, in the user's currency: own minutes, minutes that only pass, money, tools to get, harm."""
    own = settings.hour * minutes / 60 + settings.waiting_hour * waiting / 60
    return own + money + settings.missing_tool * tools_missing + harm


def score(gain: float, cost: float, settings: Settings) -> float:
    """Bits per unit of cost, a step of attention included; a gain of zero or less scores zero."""
    return gain / (cost + settings.step) if gain > 0 else 0.0
