"""Random small knowledge bases, and cases of them: every part of the model that a case can touch."""

from collections.abc import Sequence

from hypothesis import strategies as st
from oracle.knowledge import Strengths, base, cause, effect, fact, finding, fitting, look, seen

from diag.knowledge.types import Cause, Effect, Finding, Fitting, Knowledge
from diag.network.observations import Look, Observations

DEGREES = ("no", "hot", "boiled")
chances = st.floats(0.02, 0.95)
weights = st.floats(0.1, 10.0)
factors = st.floats(0.1, 8.0)


@st.composite
def knowledge_bases(draw: st.DrawFn) -> Knowledge:
    """Two to four causes, one to three effects (one with degrees), two or three findings, facts, fittings."""
    fittings = [fitting(f"fit{i}", draw(chances)) for i in range(draw(st.integers(0, 2)))]
    findings = _findings(draw)
    effects = _effects(draw, findings)
    causes = [_cause(draw, f"cause{i}", effects, findings, fittings) for i in range(draw(st.integers(2, 4)))]
    names = [c.id for c in causes] + [f"unlisted_{e.id}" for e in effects if e.residual is not None]
    facts = [
        fact(f"fact{i}", draw(st.sampled_from(["work", "heat"])), draw(st.floats(0.05, 0.5)), _factors(draw, names))
        for i in range(draw(st.integers(0, 3)))
    ]
    model = {"second_look_copies": draw(chances), "complaint_false_alarm": draw(chances), "coexistence": draw(chances)}
    return base(causes, findings, effects, facts, fittings, model)


def _findings(draw: st.DrawFn) -> list[Finding]:
    found = []
    for i in range(draw(st.integers(2, 3))):
        states = ("no", "some", "much")[: draw(st.integers(2, 3))]
        alarm = {state: draw(st.floats(0.01, 0.3)) for state in states[1:]}
        found.append(finding(f"finding{i}", alarm, states))
    return found


def _effects(draw: st.DrawFn, findings: Sequence[Finding]) -> list[Effect]:
    """The last one first, so that each can lead to those after it."""
    found: list[Effect] = []
    count = draw(st.integers(1, 3))
    degrees = draw(st.integers(0, count - 1))
    for i in reversed(range(count)):
        states = DEGREES if i == degrees else ("no", "yes")
        gate = "or" if i == degrees else draw(st.sampled_from(["or", "and", "k_of_n"]))
        leak = {state: draw(st.floats(0.0, 0.2)) for state in states[1:]}
        not_stopped = [e for e in found if f"effect{i}" not in e.inhibited_by]
        leads_to, shows = _links(draw, states, not_stopped), _links(draw, states, findings)
        residual = draw(st.one_of(st.none(), weights)) if i < 2 else None
        stops = {f"effect{j}": draw(chances) for j in range(i) if gate == "or" and draw(st.booleans())}
        made = effect(f"effect{i}", leak, leads_to, shows, states, gate, 1, stops, residual)
        found.insert(0, made)
    return found


def _cause(
    draw: st.DrawFn,
    name: str,
    effects: Sequence[Effect],
    findings: Sequence[Finding],
    fittings: Sequence[Fitting],
) -> Cause:
    told = draw(st.sampled_from(["any", "fitted", "not_fitted"])) if fittings else "any"
    some = [f.id for f in fittings if draw(st.booleans())]
    return cause(
        name,
        draw(weights),
        _links(draw, ("no", "yes"), effects),
        _links(draw, ("no", "yes"), findings),
        some if told == "fitted" else (),
        some if told == "not_fitted" else (),
    )


def _links(
    draw: st.DrawFn, states: Sequence[str], children: Sequence[Effect] | Sequence[Finding]
) -> dict[str, Strengths]:
    """Strengths to some of the children; the states that are brought about add up to less than one."""
    found = {}
    for child in children:
        if draw(st.booleans()):
            shares = len(child.states) - 1
            found[child.id] = {p: {s: draw(chances) / shares for s in child.states[1:]} for p in states[1:]}
    return found


def _factors(draw: st.DrawFn, names: Sequence[str]) -> dict[str, float]:
    return {name: draw(factors) for name in draw(st.lists(st.sampled_from(names), unique=True, max_size=3))}


@st.composite
def cases(draw: st.DrawFn, knowledge: Knowledge) -> Observations:
    """A complaint or none, answers sure and unsure, a second look, answers about the past, fittings."""
    looks: list[Look] = []
    states = {name: len(entry.states) for name, entry in knowledge.findings.items()}
    asked = draw(st.lists(st.sampled_from(list(states)), unique=True, max_size=3))
    for place, name in enumerate(asked):
        complaint = place == 0 and draw(st.booleans())
        looks.append(look(name, draw(answers(states[name])), complaint))
    if asked and draw(st.booleans()):
        looks.append(look(asked[-1], draw(answers(states[asked[-1]]))))
    facts = draw(st.lists(st.sampled_from(list(knowledge.history)), max_size=3)) if knowledge.history else []
    history = [look(name, draw(answers(2))) for name in facts]
    fitted = {name: draw(st.booleans()) for name in knowledge.fittings if draw(st.booleans())}
    gone = [f for f in knowledge.findings if f not in {x.finding for x in looks} and draw(st.booleans())][:1]
    return seen(*looks, *(look(f, None) for f in gone), history=history, fitted=fitted, gone=gone)


@st.composite
def answers(draw: st.DrawFn, states: int) -> tuple[float, ...]:
    """A sure answer, or an unsure one that leaves every state some room."""
    if draw(st.booleans()):
        own = draw(st.integers(0, states - 1))
        return tuple(float(i == own) for i in range(states))
    return tuple(draw(st.floats(0.05, 1.0)) for _ in range(states))
