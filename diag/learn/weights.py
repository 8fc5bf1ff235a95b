"""The shares of the causes after closed cases: a Dirichlet posterior, also where vehicles lack some of the parts.

A case says which cause it was among those that its vehicle can have. Where every vehicle can have every cause this
is counting; else the weights are those under which each cause is expected as often as it was found (iterative
scaling). The base enters as so many cases of vehicles of which nothing is told.

References
----------
Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., section 3.4 (multinomial with a Dirichlet prior).
Hunter 2004, MM algorithms for generalized Bradley-Terry models, Annals of Statistics 32, 384-406 (the scaling).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STEPS = 500
STILL = 1e-12  # of a share


@dataclass(frozen=True, eq=False)
class Groups:
    """Closed cases by what their vehicles can have.

    room: shape (groups, states), for each group how much of each weight applies (shares of the fittings), nought
    where a cause could not have been named; cases: shape (groups,).
    """

    room: Array
    cases: Array


def scaled(weights: Array, prior: Array, found: Array, anybody: Array, groups: Groups) -> Array:
    """Weights, shape (states,), under which the causes are expected as often as ``prior`` + ``found``.

    prior, found: counts, shape (states,); anybody: room in a vehicle of which nothing is told, shape (states,). The
    weights of such a vehicle add up to what they were.
    """
    total = weights @ anybody
    now = weights
    for _ in range(STEPS):
        expected = prior.sum() * now * anybody / (now @ anybody)
        for room, cases in zip(groups.room, groups.cases, strict=True):
            expected = expected + cases * now * room / (now @ room)
        new = now * np.divide(prior + found, expected, out=np.ones_like(now), where=expected > 0)
        new = new * (total / (new @ anybody))
        if np.abs(new - now).max() <= STILL * total:
            return np.asarray(new)
        now = new
    return np.asarray(now)
