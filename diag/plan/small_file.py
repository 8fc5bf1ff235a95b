"""A small troubleshooting problem in a file: causes of which exactly one is there, tests, repairs, access, costs.

The form, every part but ``causes`` and ``small_problem`` optional::

    small_problem: find          # find: name the cause; mend: get rid of it, watching after each repair
    causes: {a: 0.7, b: 0.3}     # add up to 1
    tests:
      t1: {cost: 1, shows: [b]}                                 # "yes" for certain with b, else "no"
      t2: {cost: 1, shows: {a: 0.1, b: 0.9}, access: [opened]}  # P(yes | cause), 0 where not named
      t3: {cost: 1, shows: {low: {a: 0.2}, high: {b: 0.9}}}     # several results; what is left is "no"
    repairs:
      r1: {cost: 3, mends: [b], access: [opened]}               # or {cause: probability}
    access:
      opened: {cost: 2, undo: 1, needs: [cold]}                 # done once, shared, put back at the end
    ending: 40                   # price of ending it without a repair (mend)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import isfinite
from pathlib import Path

from diag.plan.small_problem import AIMS, SmallProblem, SmallRepair, SmallStep, SmallTest, Weights
from diag.text import ListNode, MapNode, Node, Problem, TextNode, did_you_mean, read

FIELDS = ("small_problem", "causes", "tests", "repairs", "access", "ending")
MOST_CAUSES, MOST_ACTS = 12, 24


class _Wrong(Exception):
    """A part that is not as it should be; ends the reading."""

    def __init__(self, node: Node, message: str, hint: str) -> None:
        self.problem = Problem(node.mark, "wrong-small-problem", message, hint)


def read_small_problem(path: Path) -> tuple[SmallProblem | None, list[Problem]]:
    """The problem in a file, or what is wrong with it."""
    root, problems = read(path)
    if root is None or problems:
        return None, problems
    try:
        return _problem(root), []
    except _Wrong as wrong:
        return None, [wrong.problem]


def _problem(root: Node) -> SmallProblem:
    fields = _fields(root, FIELDS, ("small_problem", "causes"))
    aim = _word(fields["small_problem"], AIMS)
    causes = {name: _number(node) for name, node in _pairs(fields["causes"])}
    names = tuple(causes)
    if not 0 < len(names) <= MOST_CAUSES or abs(sum(causes.values()) - 1) > 1e-6:
        raise _Wrong(
            fields["causes"], f"1 to {MOST_CAUSES} causes are wanted, adding up to 1.", "Write a: 0.7, b: 0.3."
        )
    access = {name: _step(node) for name, node in _pairs(fields.get("access"))}
    for name, node in _pairs(fields.get("access")):
        _check_needs(name, node, access)
    problem = SmallProblem(
        aim=aim,
        causes=causes,
        tests={name: _test(node, names, access) for name, node in _pairs(fields.get("tests"))},
        repairs={name: _repair(node, names, access) for name, node in _pairs(fields.get("repairs"))},
        access=access,
        ending=_number(fields["ending"], most=None) if "ending" in fields else None,
    )
    _check_ends(problem, root)
    return problem


def _check_ends(problem: SmallProblem, root: Node) -> None:
    if len(problem.tests) + len(problem.repairs) > MOST_ACTS:
        raise _Wrong(root, f"more than {MOST_ACTS} tests and repairs.", "Leave out what matters least.")
    for place, name in enumerate(problem.causes):
        sure = any(repair.mends[place] >= 1 for repair in problem.repairs.values())
        if problem.aim == "mend" and problem.ending is None and not sure:
            raise _Wrong(root, f"no repair mends {name} for certain.", "Add 'ending: PRICE', or a repair that does.")


def _step(node: Node) -> SmallStep:
    fields = _fields(node, ("cost", "undo", "needs"), ("cost",))
    undo = _number(fields["undo"], most=None) if "undo" in fields else 0.0
    return SmallStep(_number(fields["cost"], most=None), undo, tuple(n.value for n in _words(fields.get("needs"))))


def _check_needs(name: str, node: Node, access: Mapping[str, SmallStep]) -> None:
    seen, ahead = set[str](), list(access[name].needs)
    while ahead:
        step = ahead.pop()
        if step not in access or step == name:
            message = f"{name} needs itself." if step == name else f"there is no access step {step!r}."
            raise _Wrong(node, message, did_you_mean(step, access) or "Name steps of 'access'.")
        if step not in seen:
            seen.add(step)
            ahead.extend(access[step].needs)


def _test(node: Node, causes: tuple[str, ...], access: Mapping[str, SmallStep]) -> SmallTest:
    fields = _fields(node, ("cost", "shows", "access"), ("cost", "shows"))
    shows = fields["shows"]
    several = isinstance(shows, MapNode) and any(isinstance(value, MapNode | ListNode) for _, value in shows.items)
    told = dict(_pairs(shows)) if several else {"yes": shows}
    results = {name: _by_cause(part, causes) for name, part in told.items()}
    rest = tuple(1.0 - sum(column) for column in zip(*results.values(), strict=True))
    if min(rest) < -1e-9 or "no" in results:
        raise _Wrong(shows, "the results of a cause add up to more than 1.", "What is left is the result 'no'.")
    results = {"no": tuple(max(p, 0.0) for p in rest), **results}
    return SmallTest(_number(fields["cost"], most=None), results, _steps(fields.get("access"), access))


def _repair(node: Node, causes: tuple[str, ...], access: Mapping[str, SmallStep]) -> SmallRepair:
    fields = _fields(node, ("cost", "mends", "access"), ("cost", "mends"))
    mends = _by_cause(fields["mends"], causes)
    return SmallRepair(_number(fields["cost"], most=None), mends, _steps(fields.get("access"), access))


def _by_cause(node: Node, causes: tuple[str, ...]) -> Weights:
    """A list of causes (certain) or a map of probabilities, in the order of the causes."""
    if isinstance(node, MapNode):
        told = {key.value: (key, _number(value)) for key, value in node.items}
    else:
        told = {item.value: (item, 1.0) for item in _words(node)}
    for name, (place, _) in told.items():
        if name not in causes:
            hint = did_you_mean(name, causes) or f"There are {', '.join(causes)}."
            raise _Wrong(place, f"there is no cause {name!r}.", hint)
    return tuple(told[name][1] if name in told else 0.0 for name in causes)


def _steps(node: Node | None, access: Mapping[str, SmallStep]) -> tuple[str, ...]:
    words = list(_words(node))
    for word in words:
        if word.value not in access:
            raise _Wrong(
                word, f"there is no access step {word.value!r}.", did_you_mean(word.value, access) or "Add it."
            )
    return tuple(word.value for word in words)


def _fields(node: Node, known: Iterable[str], needed: Iterable[str]) -> dict[str, Node]:
    found = dict(_pairs(node))
    for name in needed:
        if name not in found:
            raise _Wrong(node, f"the field {name!r} is missing.", f"Fields are {', '.join(known)}.")
    for key in node.keys() if isinstance(node, MapNode) else ():
        if key.value not in known:
            raise _Wrong(key, f"there is no field {key.value!r}.", did_you_mean(key.value, known) or "Take it out.")
    return found


def _pairs(node: Node | None) -> Iterator[tuple[str, Node]]:
    if node is None:
        return
    if not isinstance(node, MapNode):
        raise _Wrong(node, "a map is expected here.", "Write {name: value, ...}.")
    for key, value in node.items:
        yield key.value, value


def _words(node: Node | None) -> Iterator[TextNode]:
    if node is not None and not isinstance(node, ListNode):
        raise _Wrong(node, "a list is expected here.", "Write [one, two].")
    for item in node.items if node else ():
        if not isinstance(item, TextNode):
            raise _Wrong(item, "a word is expected here.", "No map and no list.")
        yield item


def _word(node: Node, known: tuple[str, ...]) -> str:
    if not isinstance(node, TextNode) or node.value not in known:
        raise _Wrong(node, f"one of {', '.join(known)} is expected here.", f"Write small_problem: {known[0]}.")
    return node.value


def _number(node: Node, most: float | None = 1.0) -> float:
    """A number from 0 to ``most``."""
    limit = "" if most is None else f" to {most:g}"
    try:
        value = float(node.value) if isinstance(node, TextNode) else -1.0
    except ValueError:
        value = -1.0
    if not isfinite(value) or value < 0 or (most is not None and value > most):
        raise _Wrong(node, f"a number from 0{limit} is expected here.", "Write it with a point: 0.25.")
    return value
