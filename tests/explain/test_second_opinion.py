"""The second opinion: what pgmpy says from the exported files alone, against plain sums over the joint table."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.knowledge import look, seen
from oracle.random_networks import Drawn, evidence, networks
from oracle.shipped_cases import random_case, shipped
from oracle.small_networks import states, yes_no

from diag.explain import second_opinion as module
from diag.explain.second_opinion import ask, elimination_order, second_opinion
from diag.explain.split_tables import Factor, small_factors
from diag.knowledge.load import load
from diag.network.bif import LINK_PARENTS, MOST_PARENTS, bif, evidence_beside
from diag.network.case_network import TARGET, CaseNetwork, compile_case
from diag.network.chains import chained
from diag.network.diagnosis import Diagnosis
from diag.network.model import Network

with warnings.catch_warnings():
    # pgmpy tells of its coming changes while it loads.
    warnings.simplefilter("ignore", FutureWarning)
    import pgmpy.inference  # noqa: F401

ROOT = Path(__file__).parents[2]
TINY_BASE = ROOT / "tests" / "cli" / "tiny_base"
# Sums of a few hundred products in 53 bits.
CLOSE = 1e-12

NO, YES = (1.0, 0.0), (0.0, 1.0)
HIGH, NORMAL = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
CASES = {
    "nothing told": seen(),
    "one complaint": seen(look("gauge", HIGH, complaint=True)),
    "answers no": seen(look("gauge", NORMAL), look("puddle", NO), look("head_bent", NO)),
    "yes and no": seen(look("gauge", HIGH), look("puddle", NO), look("level_low", NO), look("pump_noisy", YES)),
    "unsure": seen(look("gauge", (0.2, 0.3, 0.9)), look("puddle", (0.4, 0.7)), look("head_bent", YES)),
    "history": seen(look("level_low", YES), history=[look("pump_old", YES)]),
    "unsure history": seen(look("pump_noisy", NO), history=[look("pump_old", (0.3, 0.8))]),
    "second looks": seen(look("puddle", YES), look("puddle", NO), look("puddle", (0.2, 0.9)), look("gauge", HIGH)),
}


@pytest.fixture(scope="module")
def tiny():
    knowledge, problems = load(TINY_BASE)
    assert knowledge is not None, problems
    return knowledge


def exported(folder: Path, network: Network, told: dict[str, np.ndarray]) -> tuple[Path, Path]:
    file, beside = folder / "case.bif", folder / "case.evidence.json"
    file.write_text(bif(network), encoding="utf-8")
    beside.write_text(json.dumps(evidence_beside(told)), encoding="utf-8")
    return file, beside


def opinion(folder: Path, network: Network, told: dict[str, np.ndarray], target: str = TARGET) -> list[float]:
    answer = second_opinion(*exported(folder, network, told), target)
    assert tuple(answer) == network[target].states
    return list(answer.values())


def opinion_of(folder: Path, case: CaseNetwork) -> list[float]:
    return opinion(folder, case.full_network(), case.full_evidence())


@pytest.mark.parametrize("name", CASES)
def test_small_cases_agree_with_the_joint_table(tmp_path, tiny, name):
    case = compile_case(tiny, CASES[name])
    exact = Enumeration(case.full_network(), case.full_evidence()).joint([TARGET])
    assert opinion_of(tmp_path, case) == pytest.approx(exact.tolist(), abs=CLOSE)
    assert Diagnosis(case).posterior == pytest.approx(exact, abs=CLOSE)


@pytest.mark.parametrize("name", ["unsure", "second looks"])
def test_part_by_part_is_the_same(tmp_path, tiny, name, monkeypatch):
    case = compile_case(tiny, CASES[name])
    whole = opinion_of(tmp_path, case)
    monkeypatch.setattr(module, "MOST_CELLS", 1)
    assert opinion_of(tmp_path, case) == pytest.approx(whole, abs=CLOSE)


@settings(max_examples=150, deadline=None)
@given(data=st.data(), drawn=networks())
def test_any_network_and_any_target(data: st.DataObject, drawn: Drawn):
    """No fault, no history, gates of every kind, plain tables with noughts: what does not split stays whole.

    The tables come straight from the network: to read a file takes pgmpy half a second, whatever its size.
    """
    told = data.draw(evidence(drawn))
    target = data.draw(st.sampled_from(list(drawn.network)))
    slow = Enumeration(drawn.network, told, drawn.tables)
    assume(slow.probability_of_evidence() > 1e-6)
    vectors = {n: vector_of(drawn.network[n].states, said) for n, said in told.items()}
    weights = ask(small_factors(tables_of(drawn.network), vectors, target), target)
    assert weights == pytest.approx(slow.weight([target]), abs=CLOSE)


def tables_of(network: Network) -> dict[str, Factor]:
    return {n.id: Factor((n.id, *n.parents), np.moveaxis(network.table(n.id), -1, 0)) for n in network.values()}


def vector_of(names: tuple[str, ...], said: str | tuple[float, ...]) -> np.ndarray:
    return np.eye(len(names))[names.index(said)] if isinstance(said, str) else np.array(said)


def test_equal_tables_count_twice(tmp_path):
    """By hand: 0.8 x 0.8 against 0.2 x 0.2, 16 to 1. A set of factors in which equal ones merge would say 4 to 1."""
    twins = [yes_no(name, [0.8, 0.2], TARGET) for name in ("first", "second")]
    network = Network([states(TARGET, [0.5, 0.5]), *twins])
    told = {"first": np.array(YES), "second": np.array(YES)}
    assert opinion(tmp_path, network, told) == pytest.approx([16 / 17, 1 / 17], abs=CLOSE)


def test_zero_evidence_is_refused(tmp_path):
    network = Network([states(TARGET, [0.5, 0.5]), yes_no("never", [0.0, 0.0], TARGET)])
    with pytest.raises(ValueError, match="probability zero"):
        opinion(tmp_path, network, {"never": np.array(YES)})


def test_certain_answers_that_exclude_each_other_are_refused(tmp_path):
    """One node copies the other, so that no and yes of the two cannot be together."""
    network = Network([states(TARGET, [0.5, 0.5]), yes_no("a", [0.3, 0.6], TARGET), yes_no("b", [0.0, 1.0], "a")])
    with pytest.raises(ValueError, match="probability zero"):
        opinion(tmp_path, network, {"a": np.array(NO), "b": np.array(YES)})


def test_file_that_is_not_there(tmp_path):
    (tmp_path / "e.json").write_text("{}", encoding="utf-8")
    with pytest.raises(OSError, match=r"none\.bif"):
        second_opinion(tmp_path / "none.bif", tmp_path / "e.json", TARGET)


ALONE = """
import json, sys, types
from importlib.abc import MetaPathFinder
from pathlib import Path

OWN = {"diag", "diag.explain", "diag.explain.second_opinion", "diag.explain.split_tables"}

class Blocker(MetaPathFinder):
    def find_spec(self, name, path, target=None):
        if name.split(".")[0] == "diag" and name not in OWN:
            raise ImportError(f"{name} is not needed for a second opinion")

sys.meta_path.insert(0, Blocker())
import diag
package = types.ModuleType("diag.explain")  # its own start would load the list of causes, and with it our engine
package.__path__ = [str(Path(diag.__file__).parent / "explain")]
sys.modules["diag.explain"] = package
from diag.explain.second_opinion import second_opinion
try:
    import diag.network
except ImportError:
    print(json.dumps(second_opinion(Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3])))
"""


def python(*arguments: object, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error", *map(str, arguments)],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def test_files_alone_are_enough(tmp_path, tiny):
    case = compile_case(tiny, CASES["second looks"])
    ran = python("-c", ALONE, *exported(tmp_path, case.full_network(), case.full_evidence()), TARGET, cwd=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    expected = dict(zip(case.states, opinion_of(tmp_path, case), strict=True))
    assert json.loads(ran.stdout) == pytest.approx(expected, abs=CLOSE)


def test_shipped_base_with_eight_findings(tmp_path):
    """Another seed of the judged random cases; the probabilities are our engine's, whose judges stand elsewhere."""
    case = random_case(shipped(), 2, 8)
    assert opinion_of(tmp_path, case) == pytest.approx(Diagnosis(case).posterior.tolist(), abs=CLOSE)


@pytest.mark.parametrize(("seed", "findings", "drawn"), [(1, 4, False), (5, 15, True), (6, 15, False), (9, 40, True)])
def test_no_large_table_on_the_shipped_base(seed, findings, drawn):
    """Regression: 20480 cells for each state of the target at most; the chains of the file, unsplit, make 4 x 10^7."""
    case = random_case(shipped(), seed, findings, drawn)
    nodes = [n for own in case.full_network().values() for n in chained(own, MOST_PARENTS, LINK_PARENTS)]
    factors = small_factors(tables_of(Network(nodes)), case.full_evidence(), TARGET)
    _, cells = elimination_order(factors, TARGET)
    assert 100 < cells <= 2**16


@pytest.fixture
def hot_case(tmp_path):
    def diag(*arguments: str) -> subprocess.CompletedProcess[str]:
        return python("-m", "diag.cli.main", "--knowledge", TINY_BASE, *arguments, cwd=tmp_path)

    assert diag("new", "hot.yaml", "--complaint", "gauge=high").returncode == 0
    assert diag("record", "hot.yaml", "puddle=no").returncode == 0
    return diag


def test_command_tells_the_largest_difference_and_no_library_speaks(hot_case):
    plain, ran = hot_case("causes", "hot.yaml"), hot_case("causes", "hot.yaml", "--second-opinion")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith(plain.stdout)
    added = " ".join(ran.stdout.removeprefix(plain.stdout).split())
    (difference,) = re.findall(r"the largest difference of any probability is (\S+)\.$", added)
    assert float(difference) < CLOSE
    assert len(added) < 200


def test_command_as_json(hot_case):
    ran = hot_case("causes", "hot.yaml", "--second-opinion", "--json")
    assert (ran.returncode, ran.stderr) == (0, "")
    said = json.loads(ran.stdout)["second_opinion"]
    assert said["engine"] == "pgmpy"
    assert 0 <= said["largest_difference"] < CLOSE
    assert sum(said["probabilities"].values()) == pytest.approx(1, abs=CLOSE)


def test_pgmpy_is_loaded_only_when_asked_for(tmp_path):
    program = "import sys, diag.session, diag.show.second_opinion; print('pgmpy' in sys.modules)"
    assert python("-c", program, cwd=tmp_path).stdout == "False\n"
