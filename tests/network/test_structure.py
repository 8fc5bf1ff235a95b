"""The structure as DOT and GraphML, read back by networkx (DOT by way of pydot): the same nodes, names and arcs."""

from __future__ import annotations

import warnings

import networkx
import pytest
from typer.testing import CliRunner

from diag.cli.main import app
from diag.network.case_network import TARGET
from diag.network.model import Network, Node, Table
from diag.network.structure import FORMS, structure
from diag.session import Session

HALF = Table([0.5, 0.5])
NAMES = {"rain": ('rain, "heavy" \\ & <cold>', "cause"), "wet": ("wet grass; über", "finding")}
SMALL = Network(
    [
        Node("rain", ("no", "yes"), (), HALF),
        Node("wet", ("no", "some", "much"), ("rain",), Table([[1, 0, 0], [0, 0.5, 0.5]])),
        Node("wet~1", ("no", "yes"), ("rain",), Table([[0.5, 0.5], [0.5, 0.5]])),
    ]
)


def read_back(text: str, form: str) -> networkx.DiGraph:
    if form == ".graphml":
        return networkx.parse_graphml(text)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its parser uses old names of a library of its own
        pydot = pytest.importorskip("pydot")
        (graph,) = pydot.graph_from_dot_data(text)
    read = networkx.nx_pydot.from_pydot(graph)
    plain = networkx.DiGraph()
    for node, told in read.nodes(data=True):
        plain.add_node(_plain(node), **{key: _plain(value) for key, value in told.items()})
    plain.add_edges_from((_plain(a), _plain(b)) for a, b in read.edges())
    return plain


def _plain(text: str) -> str:
    return text.removeprefix('"').removesuffix('"').replace('\\"', '"').replace("\\\\", "\\")


@pytest.mark.parametrize("form", FORMS)
def test_nodes_names_and_arcs_come_back(form):
    graph = read_back(structure(SMALL, NAMES, form), form)
    assert set(graph.edges()) == {("rain", "wet"), ("rain", "wet~1")}
    assert dict(graph.nodes(data=True)) == {
        "rain": {"label": 'rain, "heavy" \\ & <cold>', "kind": "cause", "states": "no, yes"},
        "wet": {"label": "wet grass; über", "kind": "finding", "states": "no, some, much"},
        "wet~1": {"label": "wet~1", "kind": "helper", "states": "no, yes"},
    }


@pytest.mark.parametrize("form", FORMS)
def test_export_writes_the_whole_network_of_a_case(form, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for words in ("new a.yaml --complaint coolant_level_drops", f"export a.yaml -o out{form}"):
        ran = CliRunner().invoke(app, words.split())
        assert ran.exit_code == 0, ran.output
    graph = read_back((tmp_path / f"out{form}").read_text(encoding="utf-8"), form)
    full = Session.open(tmp_path / "a.yaml").diagnosis.case.full_network()
    assert set(graph.nodes()) == set(full)
    assert set(graph.edges()) == {(parent, node.id) for node in full.values() for parent in node.parents}
    assert networkx.is_directed_acyclic_graph(graph)
    kinds = {told["kind"] for _, told in graph.nodes(data=True)}
    assert {"target", "cause", "mechanism", "damage", "finding", "fact"} <= kinds
    assert graph.nodes[TARGET]["kind"] == "target"
