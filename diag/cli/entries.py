"""The commands that look things up in the knowledge base: ``find`` and ``show``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import ids
from diag.cli.opening import answering, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

if TYPE_CHECKING:
    from diag.knowledge.types import Entry, Knowledge


AnyId = Annotated[
    str,
    typer.Argument(metavar="ID", help="The id of any entry; former ids are known too.", autocompletion=ids()),
]


def find(
    context: typer.Context,
    words: Annotated[list[str], typer.Argument(metavar="WORDS...", help="Everyday words, near misses let pass.")],
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Find ids from everyday words.

    For example: diag find no heat in the cab
    """
    with answering(as_json):
        from diag.knowledge.search import search
        from diag.show.hits import hits_data, hits_page

        hits = search(knowledge_of(context, knowledge), " ".join(words))
        if as_json:
            print_json(hits_data(hits))
        else:
            hits_page(hits).print()


def show(
    context: typer.Context,
    id: AnyId,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show one entry of the knowledge base: numbers, grades, sources, cautions, what it hangs together with.

    For example: diag show thermostat_stuck_closed
    """
    with answering(as_json):
        base = knowledge_of(context, knowledge)
        section, entry = _entry(base, id)
        from diag.show.entry import entry_data, entry_page

        if as_json:
            print_json(entry_data(base, section, entry))
        else:
            entry_page(base, section, entry).print()


def _entry(knowledge: Knowledge, id: str) -> tuple[str, Entry]:
    from diag.case.record import ARGUMENT
    from diag.knowledge.lookup import all_ids, find_entry
    from diag.text import Mark, Problem, ProblemsFound, did_you_mean

    found = find_entry(knowledge, id)
    if found is None:
        gone = [done for done in knowledge.provenance.get(id, ()) if done.kind == "removed"]
        taken = f"The overlay '{gone[0].overlay}' takes it out in {gone[0].mark}." if gone else ""
        hint = taken or did_you_mean(id, all_ids(knowledge)) or "Look for it by 'diag find WORDS'."
        raise ProblemsFound([Problem(Mark(ARGUMENT, 1, 1), "unknown-id", f"there is no '{id}'.", hint)])
    return found
