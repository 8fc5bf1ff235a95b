"""The command ``tree``: the fault tree of an effect, or one from a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import case_files, ids
from diag.cli.opening import answering, case_if_any, knowledge_of, print_json, session_of, write_whole
from diag.cli.options import AsJson, KnowledgeDir, WithNumbers

if TYPE_CHECKING:
    from diag.explain.effect_tree import EffectTree, Nodes
    from diag.explain.fault_tree import FaultTree
    from diag.explain.fault_tree.branches import Fold
    from diag.explain.fault_tree.nodes import TreeNodes
    from diag.knowledge.types import Knowledge
    from diag.show.branches import Heading

Id = Annotated[
    str | None,
    typer.Argument(
        metavar="ID",
        help="An effect, or EFFECT=STATE for that degree or worse; a gate with --from.",
        autocompletion=ids("effects"),
    ),
]
Case = Annotated[
    Path | None,
    typer.Argument(
        metavar="[FILE]", help="The case; taken by itself where one lies in the folder.", autocompletion=case_files
    ),
]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="OUT", help="Write a picture: .svg (one A4 page) or .dot.")
]
From = Annotated[
    Path | None, typer.Option("--from", metavar="TREE.yaml", help="A fault tree of your own instead of the base's.")
]
Depth = Annotated[int | None, typer.Option("--depth", min=1, metavar="N", help="Open N levels only.")]
Every = Annotated[bool, typer.Option("--all", help="Every branch, the improbable ones too.")]
NoCase = Annotated[bool, typer.Option("--no-case", help="The knowledge base alone, even where a case lies here.")]

SHOWN = 0.05  # branches that are rarer behind the effect are folded
FORMS = (".svg", ".dot")


def tree(
    context: typer.Context,
    id: Id = None,
    file: Case = None,
    numbers: WithNumbers = False,
    depth: Depth = None,
    every: Every = False,
    no_case: NoCase = False,
    out: Out = None,
    from_file: From = None,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show the fault tree of an effect: what can bring it about, how likely, and what matters most.

    A cut set stands for causes that can bring it about with nothing else there, links allowed to fail; it counts with
    the probability that they are there and the effect with them. --from reads a tree as {top: t, gates: {t: {and: [a,
    b]}}, events: {a: 1e-3, b: 2e-3}}; gates are or, and, k_of_n (with k:), inhibit (with condition:).

    For example: diag tree head_warped van.yaml -o tree.svg
    """
    from diag.explain.fault_tree.branches import DEEPEST, Fold

    if out and out.suffix not in FORMS:
        raise typer.BadParameter(f"the file to write ends in {' or '.join(FORMS)}", param_hint="--out")
    whole = every or as_json or from_file is not None
    # A picture folds what does not fit on its page by itself.
    least = 0.0 if whole or (out and out.suffix == ".svg") else SHOWN
    fold = Fold(least, depth or DEEPEST)
    with answering(as_json), _telling_too_large():
        if from_file is not None:
            _show_file(from_file, id, fold, numbers, out, as_json)
        elif id is None:
            raise typer.BadParameter("name an effect ('diag find WORDS' gives the id).", param_hint="ID")
        else:
            path = None if no_case else case_if_any(file, as_json)
            _show_effect(context, id, path, fold, numbers, out, knowledge, as_json)


@contextmanager
def _telling_too_large() -> Iterator[None]:
    """A tree that cannot be worked out is a problem with a sentence."""
    from diag.case.record import ARGUMENT
    from diag.explain.fault_tree import TreeTooLarge
    from diag.network.plan import CliqueTooLarge
    from diag.text import Mark, Problem, ProblemsFound

    try:
        yield
    except (TreeTooLarge, CliqueTooLarge) as error:
        raise ProblemsFound([Problem(Mark(ARGUMENT, 1, 1), "tree-too-large", f"{error}")]) from error


def _show_effect(
    context: typer.Context,
    id: str,
    path: Path | None,
    fold: Fold,
    numbers: bool,
    out: Path | None,
    knowledge: Sequence[Path] | None,
    as_json: bool,
) -> None:
    from diag.explain.effect_tree import Nodes
    from diag.show.tree import tree_data, tree_heading, tree_page

    base, tree, case = _answer(context, id, path, knowledge, as_json)
    if out:
        _draw(Nodes(tree, base), tree_heading(base, tree, case), fold, out, as_json)
    if as_json:
        print_json(tree_data(base, tree, case.get("file"), fold))
    elif not out:
        tree_page(base, tree, case, fold, numbers).print()


def _answer(
    context: typer.Context, asked: str, path: Path | None, knowledge: Sequence[Path] | None, as_json: bool
) -> tuple[Knowledge, EffectTree, Mapping[str, str]]:
    """The knowledge base, the tree, and the vehicle and file of the case, if there is one."""
    if path is None:
        from diag.explain.effect_tree import effect_tree
        from diag.network.observations import Observations

        base = knowledge_of(context, knowledge)
        nothing = Observations((), (), {}, frozenset(), None, {})
        return base, effect_tree(base, nothing, *_effect(base, asked)), {}
    session = session_of(context, path, knowledge, as_json)
    case = {"vehicle": session.case.vehicle, "file": session.case.file}
    if session.observations.stage > 1:
        case["repaired"] = "yes"
    return session.knowledge, session.tree(*_effect(session.knowledge, asked)), case


def _effect(knowledge: Knowledge, asked: str) -> tuple[str, int]:
    """The effect asked for and its degree. Raises ProblemsFound."""
    from diag.case.ids import id_problem, ids_of
    from diag.case.record import ARGUMENT
    from diag.knowledge.types import Cause, Effect
    from diag.text import Mark, Problem, ProblemsFound, did_you_mean

    name, _, state = asked.partition("=")
    mark, known = Mark(ARGUMENT, 1, 1), ids_of(knowledge)
    problem = id_problem(known, name, (Effect,), mark)
    if problem:
        cause = known.get(name)
        above = ", ".join(link.child for link in cause.leads_to) if isinstance(cause, Cause) else ""
        raise ProblemsFound([replace(problem, hint=f"It leads to: {above}.") if above else problem])
    effect = knowledge.effects[known[name].id]
    worse = effect.states[1:]
    if state and state not in worse:
        hint = did_you_mean(state, worse) or f"The degrees of {effect.id} are {', '.join(worse)}."
        raise ProblemsFound([Problem(mark, "unknown-state", f"{effect.id} has no degree '{state}'.", hint)])
    return effect.id, effect.states.index(state) if state else 1


def _draw(nodes: Nodes | TreeNodes, heading: Heading, fold: Fold, out: Path, as_json: bool) -> None:
    """Write the picture and say so (not into the JSON)."""
    from diag.explain.fault_tree.branches import grow
    from diag.show.clean import visible
    from diag.show.tree_dot import tree_dot
    from diag.show.tree_svg import tree_svg

    if out.suffix == ".svg":
        write_whole(out, tree_svg(nodes.top, nodes.inputs, fold, heading))
    else:
        write_whole(out, tree_dot(grow(nodes.top, nodes.inputs, fold), heading))
    typer.echo(f"Written: {visible(str(out))}", err=as_json)


def _show_file(path: Path, top: str | None, fold: Fold, numbers: bool, out: Path | None, as_json: bool) -> None:
    from diag.explain.fault_tree import analyse_tree
    from diag.explain.fault_tree.nodes import TreeNodes
    from diag.show.fault_tree import fault_tree_data, fault_tree_heading, fault_tree_page

    tree = _read(path, top)
    found = analyse_tree(tree)
    if out:
        _draw(TreeNodes(tree), fault_tree_heading(tree, found), fold, out, as_json)
    if as_json:
        print_json(fault_tree_data(tree, found, fold))
    elif not out:
        fault_tree_page(tree, found, fold, numbers).print()


def _read(path: Path, top: str | None) -> FaultTree:
    """The tree of the file, or the part of it below ``top``. Raises ProblemsFound."""
    from diag.case.record import ARGUMENT
    from diag.explain.fault_tree import read_tree
    from diag.text import Mark, Problem, ProblemsFound, did_you_mean

    tree, problems = read_tree(path)
    if tree is None:
        raise ProblemsFound(problems)
    if top is None:
        return tree
    known = {*tree.gates, *tree.events}
    if top not in known:
        message = f"there is no gate or event {top!r} in this tree."
        raise ProblemsFound([Problem(Mark(ARGUMENT, 1, 1), "unknown-id", message, did_you_mean(top, known))])
    return tree.at(top)
