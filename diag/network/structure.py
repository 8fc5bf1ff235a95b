"""The structure of a network as a graph for other programs: DOT, or GraphML. No numbers.

Every node carries what it is called (``label``), its kind and its states; an arc goes from parent to child.

References
----------
Gansner, Koutsofios and North 2015, Drawing graphs with dot (the DOT language).
Brandes, Eiglsperger, Herman, Himsolt and Marshall 2002, GraphML progress report, Graph Drawing (GraphML).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from io import BytesIO

from diag.network.model import Network

FORMS = (".dot", ".graphml")
Told = Mapping[str, tuple[str, str]]  # per node: its name for people, its kind


def structure(network: Network, told: Told, form: str) -> str:
    """The graph as text; ``form`` is one of FORMS. Nodes not in ``told`` go by their id and are of the kind helper."""
    return _dot(network, told) if form == ".dot" else _graphml(network, told)


def _attributes(network: Network, told: Told, id: str) -> dict[str, str]:
    name, kind = told.get(id, (id, "helper"))
    return {"label": name, "kind": kind, "states": ", ".join(network[id].states)}


def _dot(network: Network, told: Told) -> str:
    return "".join(["digraph diag {\n", *_dot_lines(network, told), "}\n"])


def _dot_lines(network: Network, told: Told) -> Iterator[str]:
    for id in network:
        listed = ", ".join(f"{key}={_quoted(value)}" for key, value in _attributes(network, told, id).items())
        yield f"  {_quoted(id)} [{listed}];\n"
    for node in network.values():
        yield from (f"  {_quoted(parent)} -> {_quoted(node.id)};\n" for parent in node.parents)


def _quoted(text: str) -> str:
    """In DOT a quoted text ends at the next quote that no backslash stands before."""
    safe = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{safe}"'


def _graphml(network: Network, told: Told) -> str:
    from networkx import DiGraph, write_graphml_xml

    graph = DiGraph()
    for id in network:
        graph.add_node(id, **_attributes(network, told, id))
    graph.add_edges_from((parent, node.id) for node in network.values() for parent in node.parents)
    written = BytesIO()
    write_graphml_xml(graph, written, encoding="utf-8", prettyprint=True)
    return written.getvalue().decode()
