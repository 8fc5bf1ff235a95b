"""Who stands first in the list of causes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from diag.network.case_network import UNLISTED_ID
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis


def leading(diagnosis: Diagnosis, posterior: npt.NDArray[np.float64]) -> tuple[str, float]:
    """Who stands first in the list of causes, where the residual causes are one line, and with which probability.

    posterior: shape (states of C,), after whatever was or may be found.
    """
    unlisted = np.array([state.startswith(UNLISTED) for state in diagnosis.states])
    together = float(posterior[unlisted].sum())
    best = int(np.where(unlisted, 0.0, posterior).argmax())
    if together > posterior[best]:
        return UNLISTED_ID, together
    return diagnosis.states[best], float(posterior[best])
