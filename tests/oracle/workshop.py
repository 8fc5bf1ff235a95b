"""A tiny base for planning: two causes with repairs, a test of a chosen sharpness, a step that destroys it."""

from dataclasses import replace

from oracle.knowledge import HERE, base, cause, finding, number
from oracle.vehicles import step

from diag.knowledge.types import Knowledge, Repair, TestEntry
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Observations

SHARP = 0.0311  # a binary channel with this error gives 1 - H(0.0311) = 0.8 bit about two equal causes


def repair(minutes: float, money: float, success: float = 1.0, access: tuple[str, ...] = ()) -> Repair:
    return Repair("put it right", number(minutes), number(money), number(success), HERE, access)


def test_entry(name: str, reveals: str, minutes: float, access: tuple[str, ...] = (), tools: tuple[str, ...] = ()):
    return TestEntry(
        id=name,
        name=name,
        chapter="test",
        mark=HERE,
        how=("look",),
        reveals=(reveals,),
        minutes=number(minutes),
        money=number(0.0),
        tools=tools,
        access=access,
        outcomes={},
        hazards=(),
    )


test_entry.__test__ = False


def tiny(sharp: bool = True, tools: tuple[str, ...] = ()) -> Knowledge:
    """Causes a and b, equally likely; test T (10 minutes) tells them apart by 0.8 bit, or by nothing at all."""
    yes = 1 - SHARP if sharp else SHARP
    causes = [
        replace(cause("a", 1.0, shows={"f": (yes - SHARP) / (1 - SHARP)}), repair=repair(60, 100)),
        replace(cause("b", 1.0), repair=repair(60, 100)),
    ]
    model = {"share_without_fault": 1e-9, "coexistence": 1e-9}
    found = replace(finding("f", {"yes": SHARP}), ask=False)
    plain = base(causes, [found], model=model)
    steps = {s.id: s for s in (step("open", 5, 5, destroys=("f",)), step("other", 5, 5))}
    return replace(plain, access=steps, tests={"T": test_entry("T", "f", 10, tools=tools)})


def diagnosis(knowledge: Knowledge, access: dict[str, bool] | None = None, gone: tuple[str, ...] = ()) -> Diagnosis:
    return Diagnosis(compile_case(knowledge, Observations((), (), {}, frozenset(gone), None, access or {})))
