"""The text form of fault trees: what it takes, and what it says of mistakes."""

import pytest

import diag
from diag.explain.fault_tree import BasicEvent, FaultTree, TreeGate, read_tree

GOOD = """\
fault_tree: Engine stops
source: invented
top: stops
gates:
  stops: {or: [no_spark, no_fuel, both_pumps]}
  no_fuel: {inhibit: leak, condition: tank_low, name: fuel runs out}
  both_pumps: {k_of_n: [p1, p2, p3], k: 2}
  no_spark: {and: [coil_1, coil_2]}
events:
  leak: {probability: 0.01, name: a leak}
  tank_low: 0.5
  p1: 1e-3
  p2: 1e-3
  p3: 1e-3
  coil_1: 1
  coil_2: 0
"""


def read(tmp_path, text: str):
    path = tmp_path / "tree.yaml"
    path.write_text(text, encoding="utf-8")
    return read_tree(path)


def test_every_gate_and_both_kinds_of_event(tmp_path):
    tree, problems = read(tmp_path, GOOD)
    assert problems == []
    assert tree == FaultTree(
        "stops",
        {
            "stops": TreeGate("or", ("no_spark", "no_fuel", "both_pumps")),
            "no_fuel": TreeGate("inhibit", ("leak", "tank_low"), name="fuel runs out"),
            "both_pumps": TreeGate("k_of_n", ("p1", "p2", "p3"), 2),
            "no_spark": TreeGate("and", ("coil_1", "coil_2")),
        },
        {
            "leak": BasicEvent(0.01, "a leak"),
            "tank_low": BasicEvent(0.5),
            **{f"p{i}": BasicEvent(1e-3) for i in (1, 2, 3)},
            "coil_1": BasicEvent(1.0),
            "coil_2": BasicEvent(0.0),
        },
        "Engine stops",
        "invented",
    )


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("top: stops\n", "", 1, "'top' is one id"),
        ("top: stops", "top: stop", 3, "Did you mean stops"),
        ("source:", "sauce:", 2, "no field 'sauce'"),
        ("and: [coil_1", "nand: [coil_1", 8, "no field 'nand'"),
        ("{and: [coil_1, coil_2]}", "{}", 8, "has one kind"),
        ("{and: [coil_1, coil_2]}", "{and: [coil_1], or: [coil_2]}", 8, "has one kind"),
        ("{and: [coil_1, coil_2]}", "coil_1", 8, "a map of fields is expected"),
        ("{and: [coil_1, coil_2]}", "{and: coil_1}", 8, "list of ids"),
        ("{and: [coil_1, coil_2]}", "{and: [coil_1, {a: b}]}", 8, "is one id"),
        ("{and: [coil_1, coil_2]}", "{and: [coil_1], k: 1}", 8, "'k' belongs to k_of_n"),
        (", k: 2", "", 7, "'k' belongs to k_of_n"),
        ("k: 2", "k: two", 7, "whole number"),
        ("k: 2", "k: 4", 7, "between 1 and the number of inputs"),
        (", condition: tank_low", "", 6, "'condition' to inhibit"),
        ("coil_2]", "coil_3]", 8, "no gate or event 'coil_3'"),
        ("[coil_1, coil_2]", "[coil_1, stops]", 5, "among its own inputs"),
        ("tank_low: 0.5", "tank_low: 1.5", 11, "number from 0 to 1"),
        ("tank_low: 0.5", "tank_low: nan", 11, "number from 0 to 1"),
        ("tank_low: 0.5", "tank_low: often", 11, "number from 0 to 1"),
        ("probability: 0.01, ", "", 10, "needs a probability"),
        ("tank_low: 0.5", "tank_low: 0.5\n  stops: 0.5", 12, "both a gate and a basic event"),
    ],
)
def test_a_mistake_is_told_with_its_place(tmp_path, old, new, line, says):
    assert GOOD.count(old) == 1
    tree, problems = read(tmp_path, GOOD.replace(old, new))
    assert tree is None
    told = [p for p in problems if says in f"{p.message} {p.hint}"]
    assert [p.mark.line for p in told] == [line], problems


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "just words", "top: a\ngates: [a]\n", "a: &x 1\n"])
def test_what_is_no_tree_at_all_is_a_problem(tmp_path, text):
    tree, problems = read(tmp_path, text)
    assert tree is None
    assert problems


def test_a_missing_file_is_a_problem(tmp_path):
    tree, problems = read_tree(tmp_path / "none.yaml")
    assert tree is None
    assert problems[0].code == "no-such-file"


def test_a_program_has_it_from_diag_itself(tmp_path):
    path = tmp_path / "tree.yaml"
    path.write_text(GOOD, encoding="utf-8")
    tree, _ = diag.read_tree(path)
    # by hand: 0.01 x 0.5 of fuel, 3q^2 - 2q^3 of pumps, no spark never (coil_2 is 0)
    pumps = 3 * 1e-6 - 2 * 1e-9
    assert diag.analyse_tree(tree).probability == pytest.approx(1 - (1 - 0.005) * (1 - pumps), rel=1e-12)
