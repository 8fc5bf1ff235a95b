"""Ways to choose the next act, each a function from what is believed now to the number of an open act.

Open acts that tell less than the least gain are no choice for any of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

from diag.plan.workshop import View

Array = npt.NDArray[np.float64]
LEAST = 1e-9
Policy = Callable[[View, npt.NDArray[np.intp], np.random.Generator], int]


def gain_only(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """What tells most."""
    del random
    return int(choice[np.argmax(view.gains[choice])])


def gain_per_cost(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """What tells most for what it takes."""
    del random
    return int(choice[np.argmax(view.gains[choice] / view.costs[choice])])


def cheapest_first(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """What takes least."""
    del random
    return int(choice[np.argmin(view.costs[choice])])


def likeliest_first(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """What tells most about whether it is the leader."""
    del random
    return int(choice[np.argmax(view.gains_about(int(view.posterior.argmax()))[choice])])


def fixed_order(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """The first of a list that is the same for all vehicles."""
    del random
    place = {act: n for n, act in enumerate(view.scene.plant.order)}
    return int(min(choice, key=lambda i: place[view.joints[0][i]]))


def at_random(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """Any."""
    del view
    return int(random.choice(choice))


def value(view: View) -> Array:
    """What each open act brings: the share of the open bits it tells and the share of the expected cost it saves.

    Bits alone do not ask what hangs on them; what is saved at once does not see that an act opens the way for others.
    """
    p = view.posterior[view.posterior > 0]
    bits = max(float(-(p * np.log2(p)).sum()), LEAST)
    return np.asarray(view.gains / bits + view.saves / max(view.to_repair, LEAST))


def ours(view: View, choice: npt.NDArray[np.intp], random: np.random.Generator) -> int:
    """What brings most for what it takes."""
    del random
    return int(choice[np.argmax(value(view)[choice] / view.costs[choice])])


OURS = "ours"
POLICIES: Mapping[str, Policy] = {
    OURS: ours,
    "gain_only": gain_only,
    "gain_per_cost": gain_per_cost,
    "cheapest_first": cheapest_first,
    "likeliest_first": likeliest_first,
    "fixed_order": fixed_order,
    "random": at_random,
}
