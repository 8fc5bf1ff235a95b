"""Cases with repairs against every world enumerated: what keeps the trouble going now, and what is there."""

import numpy as np
import pytest
from oracle.staged_cases import random_log, reduced_base
from oracle.stages import Worlds

from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.handed import Handed
from diag.network.now import NowList

LOGS = 50


@pytest.mark.parametrize("seed", range(LOGS))
def test_three_stages_by_every_world(seed: int) -> None:
    random = np.random.default_rng(seed)
    knowledge = reduced_base(random)
    observations = random_log(random, knowledge, 3)
    case = compile_case(knowledge, observations)
    worlds = Worlds(knowledge, observations)
    wanted = worlds.list_now()
    total = worlds.weight.sum()
    exact = NowList(case).shares
    assert exact.sum() == pytest.approx(total, rel=1e-10)
    items = NowList(case).items
    np.testing.assert_allclose(exact / total, [wanted[i] / total for i in items], atol=1e-10)
    handed = Handed(case).shares
    distance = np.abs(handed / handed.sum() - exact / total).sum() / 2
    assert distance < 0.03
    diagnosis = Diagnosis(case)
    assert diagnosis.method == "exact"
    for name, p in diagnosis.also_present().items():
        assert p == pytest.approx(worlds.present(name), abs=1e-10)
