"""The exported file: other engines read it and come to the same answers; nothing is lost, nothing pruned."""

from __future__ import annotations

import json
import re
import warnings
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from oracle.agrum import Agrum, pyagrum
from oracle.enumeration import Enumeration
from oracle.knowledge import base, cause, effect, fact, finding, look, seen
from typer.testing import CliRunner

from diag.cli.main import app
from diag.knowledge.load import load
from diag.network.bif import LINK_PARENTS, MOST_PARENTS, bif, evidence_beside
from diag.network.case_network import TARGET, CaseNetwork, compile_case
from diag.network.chains import chained
from diag.network.gates import noisy_and, noisy_max, noisy_or, stopped
from diag.network.model import Network, Node, Table
from diag.session import Session

with warnings.catch_warnings():
    # pgmpy tells of its coming changes while it loads.
    warnings.simplefilter("ignore", FutureWarning)
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.readwrite import BIFReader

NUMBERS = np.random.default_rng(7)
# Ten causes bring the heat about, in two degrees: more than eight parents, so a chain.
STRENGTHS = [{"yes": {"hot": 0.05 * i, "boiled": 0.3 / i}} for i in range(1, 11)]
KNOWLEDGE = base(
    [cause(f"c{i}", 1.0 + i / 3, {"heat": STRENGTHS[i]}, {"noise": 0.1 + i / 17}) for i in range(10)],
    [finding("noise", {"yes": 1 / 7}), finding("smell", {"faint": 0.1, "strong": 0.03}, ("no", "faint", "strong"))],
    [
        effect(
            "heat",
            {"hot": 0.02, "boiled": 0.01},
            shows={"smell": {"hot": {"faint": 0.4}, "boiled": {"faint": 0.3, "strong": 0.6}}},
            states=("no", "hot", "boiled"),
        )
    ],
    [fact("work", "work", 0.1, {"c3": 3.0}), fact("new_part", "work", 0.2, {"c3": 0.4, "c5": 2.0})],
)
LOOKS = seen(
    look("noise", (0.3, 0.9)),
    look("smell", (0.0, 0.0, 1.0)),
    look("smell", (1.0, 0.0, 0.0)),
    history=[look("new_part", (0.0, 1.0))],
)


@pytest.fixture(scope="module")
def case() -> CaseNetwork:
    return compile_case(KNOWLEDGE, LOOKS)


@pytest.fixture(scope="module")
def from_pgmpy(case):
    return BIFReader(string=bif(case.full_network())).get_model()


@pytest.fixture(scope="module")
def exact(case) -> np.ndarray:
    """P(target | e) from the tables that are not chained, everything summed out."""
    return Enumeration(case.full_network(), case.full_evidence()).joint([TARGET])


def test_pgmpy_reads_every_number_as_it_was(case, from_pgmpy):
    full = case.full_network()
    assert full["heat"].id not in plain_nodes(full)
    for node in plain_nodes(full):
        cpd = from_pgmpy.get_cpds(node)
        assert tuple(cpd.variables) == (node, *full[node].parents)
        assert tuple(cpd.state_names[node]) == full[node].states
        assert np.array_equal(np.moveaxis(cpd.values, 0, -1), full.table(node)), node


def plain_nodes(full: Network) -> list[str]:
    return [node.id for node in full.values() if len(node.parents) <= MOST_PARENTS]


def test_names_are_the_ids_and_helpers_count_from_one(case, from_pgmpy):
    full = case.full_network()
    assert set(from_pgmpy.nodes()) == set(full) | {"heat~1", "heat~2", "noise~1", "noise~2"}
    assert {f"c{i}" for i in range(10)} | {"heat", "noise", "smell", "work", "new_part", TARGET} <= set(full)
    assert from_pgmpy.get_parents("heat~1") == ["c0", "c1", "c2", "c3", "c4"]
    assert sorted(from_pgmpy.get_parents("heat")) == ["c9", "heat~2"]
    assert max(len(from_pgmpy.get_parents(node)) for node in from_pgmpy.nodes()) <= MOST_PARENTS


def test_pgmpy_comes_to_the_same_posterior(case, from_pgmpy, exact):
    told = case.full_evidence()
    sure = {node: case.full_network()[node].states[int(v.argmax())] for node, v in told.items() if is_sure(v)}
    unsure = [TabularCPD(n, len(v), (v / v.sum())[:, None].tolist()) for n, v in told.items() if n not in sure]
    for cpd in unsure:
        cpd.state_names = {cpd.variable: list(case.full_network()[cpd.variable].states)}
    answer = VariableElimination(from_pgmpy).query([TARGET], sure, unsure, show_progress=False)
    assert answer.state_names[TARGET] == list(case.states)
    assert answer.values == pytest.approx(exact, abs=1e-12)


def is_sure(vector: np.ndarray) -> bool:
    return np.count_nonzero(vector) == 1


def test_pyagrum_comes_to_the_same_posterior(case, exact, tmp_path):
    """pyAgrum's reader takes no ``~`` in a name, and keeps single precision."""
    file = tmp_path / "case.bif"
    file.write_text(bif(case.full_network()).replace("~", "."), encoding="utf-8")
    net = pyagrum.loadBN(str(file))
    told = {node.replace("~", "."): vector.tolist() for node, vector in case.full_evidence().items()}
    assert net.variable(TARGET).labels() == case.states
    assert Agrum(net, told).posterior(TARGET) == pytest.approx(exact, abs=1e-6)


def strengths(parents: int, states: int) -> list[np.ndarray]:
    """Yes-or-no parents; each state of the child as likely as drawn while one of them acts alone."""
    acting = NUMBERS.dirichlet(np.ones(states), size=parents)
    return [np.stack([np.eye(states)[0], row]) for row in acting]


def acts(parents: int) -> list[np.ndarray]:
    return [np.array([0.0, s]) for s in NUMBERS.random(parents)]


GATES = {
    "noisy-OR": noisy_or(NUMBERS.random(9).tolist(), 0.05),
    "noisy-OR of 13": noisy_or((NUMBERS.random(13) / 4).tolist(), 1e-5),
    "noisy-MAX": noisy_max(strengths(10, 3), np.array([0.9, 0.07, 0.03])),
    "noisy-AND": noisy_and([np.maximum(a, [0.3, 0.0]) for a in acts(9)], 0.1),
    "stopped": stopped(noisy_max(strengths(8, 3), np.array([0.8, 0.1, 0.1])), [np.array([1.0, 0.2]), np.array([1, 0])]),
}


@pytest.mark.parametrize("name", GATES)
def test_a_chain_summed_out_is_the_gate(name):
    """Multiplied link by link from the first helper on. Both sides are sums rounded in their last digits."""
    gate = GATES[name]
    parents = tuple(f"p{i}" for i in range(len(gate.parts)))
    node = Node("child", tuple(f"s{i}" for i in range(gate.shape[-1])), parents, gate)
    chain = chained(node, MOST_PARENTS, LINK_PARENTS)
    assert [link.id for link in chain] == [*(f"child~{i + 1}" for i in range(len(chain) - 1)), "child"]
    assert len(chain) == 2 + (len(parents) > 9) + (len(parents) > 13)
    roots = [Node(p, ("no", "yes"), (), Table([0.5, 0.5])) for p in parents]
    written = Network([*roots, *chain])
    table = written.table(chain[0].id)
    for before, link in pairwise(chain):
        assert link.parents[0] == before.id
        table = np.tensordot(table, written.table(link.id), axes=(-1, 0))
    assert table == pytest.approx(gate.expand(), abs=1e-15)
    for link in chain:
        assert written.table(link.id).min() >= 0
        assert written.table(link.id).sum(-1) == pytest.approx(1, abs=1e-15)


def test_small_gates_stand_as_they_are():
    node = Node("child", ("no", "yes"), tuple(f"p{i}" for i in range(8)), noisy_or([0.5] * 8))
    assert chained(node, MOST_PARENTS, LINK_PARENTS) == [node]


def test_evidence_is_beside_the_file_and_not_in_it(case):
    """The looks as told, by node; nothing of them changes a table."""
    assert evidence_beside(case.full_evidence()) == {
        "new_part": [0.0, 1.0],
        "noise": [0.3, 0.9],
        "smell": [0.0, 0.0, 1.0],
        "smell~look2": [1.0, 0.0, 0.0],
    }
    other = seen(look("noise", (1.0, 0.0)), look("smell", (0.0, 1.0, 0.0)), look("smell", (0.0, 1.0, 0.0)))
    assert bif(compile_case(KNOWLEDGE, other).full_network()) == bif(case.full_network())


def test_export_writes_both_files(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    tiny = Path(__file__).parents[1] / "cli" / "tiny_base"
    for words in ("new a.yaml --complaint gauge=high", "record a.yaml pump_old=yes", "export a.yaml -o out.bif"):
        ran = CliRunner().invoke(app, ["--knowledge", str(tiny), *words.split()])
        assert ran.exit_code == 0, ran.output
    assert sorted(path.name for path in tmp_path.iterdir() if path.suffix != ".lock") == [
        "a.yaml",
        "out.bif",
        "out.evidence.json",
    ]
    told = json.loads((tmp_path / "out.evidence.json").read_text(encoding="utf-8"))
    assert told == {"gauge": [0.0, 0.0, 1.0], "pump_old": [0.0, 1.0]}
    text = (tmp_path / "out.bif").read_text(encoding="utf-8")
    session = Session.open(tmp_path / "a.yaml", load(tiny)[0])
    assert text == bif(session.diagnosis.case.full_network())
    # Nothing is pruned: a finding that nobody looked at is there, with every cause.
    assert {"head_bent", "pump_worn", "unlisted_flow_weak", TARGET} <= set(re.findall(r"^variable (\S+) ", text, re.M))
