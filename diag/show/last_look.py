"""The last look before a step: what goes, what to see first, what to keep."""

from __future__ import annotations

from diag.plan.last_look import LastChance, LastLook
from diag.session import Session
from diag.show.names import ADVICE, asked, cause_name, file_argument
from diag.show.page import Page
from diag.show.words import duration, tells

MOST = 6
LOST = 12


def add_last_look(page: Page, session: Session, look: LastLook, numbers: bool) -> None:
    """One column, in the order to do it."""
    page.title(f"Before: {_name(session, look.step)}")
    for text in look.keep:
        page.say(text, 2, "-")
    if not look.lost:
        page.say("It takes nothing away that is not seen yet.", 2)
    if look.first:
        page.title("See this first; it cannot be seen afterwards")
    for place, chance in enumerate(look.first, start=1):
        page.say(_line(session, chance, numbers), 1, f"{place}.")
    if look.not_worth:
        page.title("Goes too, but is hardly worth it now")
    for chance in look.not_worth[:MOST]:
        page.say(_line(session, chance, numbers), 2, "-")
    if look.dearer:
        page.title("Stays possible, but takes more afterwards")
    for dearer in look.dearer[:MOST]:
        more = f" [{dearer.more:.0f} more]" if numbers else ""
        page.say(f"{dearer.name} ({dearer.id}){more}", 2, "-")
    if look.lost:
        names = [asked(session.knowledge, finding).name for finding in look.lost[:LOST]]
        others = f", and {len(look.lost) - LOST} more" if len(look.lost) > LOST else ""
        page.title("What goes unseen")
        page.say(f"{', '.join(names)}{others}.", 2)
        page.say(f"After it: diag record {file_argument(session)} {look.step}=yes", 2)
    page.blank()
    page.say(ADVICE)


def _name(session: Session, step: str) -> str:
    known = session.knowledge.access.get(step) or session.knowledge.effects.get(step)
    return known.name if known else f"repair of {cause_name(session.knowledge, step)}"


def _line(session: Session, chance: LastChance, numbers: bool) -> str:
    figures = f" [{chance.gain_bits:.3f} bits, cost {chance.cost:.2f}]" if numbers else ""
    shown = ", ".join(asked(session.knowledge, finding).name for finding in chance.findings)
    return f"{chance.name} ({chance.id}): {shown}; {tells(chance.gain_bits)}, {duration(chance.minutes)}{figures}"
