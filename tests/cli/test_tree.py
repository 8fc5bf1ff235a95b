"""``diag tree``: of the base, of a case, of a file; its JSON, its screens, its pictures, its mistakes."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

TREES = Path(__file__).parents[1] / "published" / "fault_trees"
TANK = str(TREES / "pressure_tank.yaml")


def branches(top: dict) -> list[dict]:
    return [top, *(one for below in top["inputs"] for one in branches(below))]


def test_the_base_alone_where_no_case_lies_here(run):
    answer = run("tree", "heat", "--json").json
    assert answer["schema"] == 1
    assert (answer["id"], answer["at_least"], answer["file"], answer["given_case"]) == ("heat", "hot", None, False)
    assert answer["probability"] == answer["prior"]
    assert {"causes", "probability", "prior", "alone"} == set(answer["cut_sets"][0])
    assert {"cause", "birnbaum", "criticality", "fussell_vesely", "raw", "rrw"} <= set(answer["importance"][0])
    sets = {tuple(one["causes"]) for one in answer["cut_sets"]}
    listed = {("pump_worn",), ("belt_slips",), ("belt_glazed",), ("hose_split",)}
    assert sets == listed | {("unlisted_flow_weak",), ("unlisted_coolant_low",)}
    assert answer["cut_sets_left_out"] == 0
    assert answer["likely_path"][0] == "heat"
    assert {one["id"] for one in branches(answer["tree"])} >= {"heat", "flow_weak", "coolant_low", "pump_worn"}


def test_a_case_gives_before_and_now_as_causes_does(run, hot):
    answer = run("tree", "head_warped", hot, "--json").json
    causes = run("causes", hot, "--json").json
    assert answer["given_case"]
    assert answer["file"] == hot
    assert answer["probability"] == pytest.approx(causes["damage"][0]["probability"], rel=1e-9)
    assert answer["prior"] == pytest.approx(run("tree", "head_warped", "--no-case", "--json").json["probability"])
    assert answer["probability"] > answer["prior"]
    present = {one["id"]: one["probability"] for one in causes["also_present"]}
    nodes = {one["id"]: one["probability"] for one in branches(answer["tree"]) if one["kind"] == "cause"}
    assert {id: nodes[id] for id in present} == pytest.approx(present, rel=1e-9)


def test_the_only_case_in_the_folder_is_taken_and_said(run, hot):
    ran = run("tree", "heat")
    assert f"Case: {hot} (the only one in this folder)" in ran.out
    assert " now, " in ran.out
    assert " now, " not in run("tree", "heat", "--no-case").out


def test_a_degree_or_worse(run):
    worse = run("tree", "heat=boiled", "--json").json
    assert worse["at_least"] == "boiled"
    assert worse["probability"] < run("tree", "heat", "--json").json["probability"]


def test_the_screen_in_words_and_with_numbers(run, hot):
    words = run("tree", "heat", hot).out
    assert "> how hot it was: hot or worse (heat) - " in words
    assert "The likely path, marked >: " in words
    assert "What suffices to bring it about, the likeliest first" in words
    assert "%" not in words
    numbers = run("tree", "heat", hot, "--numbers").out
    assert "Birnbaum" in numbers
    assert "%" in numbers
    assert "not shown" not in run("tree", "heat", hot, "--all").out
    for screen in (words, numbers):
        assert screen.isascii()
        assert max(map(len, screen.splitlines())) <= 80


def test_depth(run):
    assert "not opened, it lies deeper" in run("tree", "heat", "--depth", "1").out
    tree = run("tree", "heat", "--depth", "1", "--json").json["tree"]
    assert all(one["inputs"] == [] for one in tree["inputs"])


def test_pictures(run, folder):
    assert "Written: tree.svg" in run("tree", "heat", "-o", "tree.svg").out
    assert ElementTree.parse(folder / "tree.svg").getroot().get("width") == "210mm"
    ran = run("tree", "heat", "-o", "tree.dot", "--json")
    assert ran.json["id"] == "heat"
    assert (folder / "tree.dot").read_text(encoding="utf-8").startswith("digraph")
    assert run("tree", "heat", "-o", "tree.png").code == 2
    assert run("tree", "heat", "-o", "no/such/folder/tree.svg").code == 1


@pytest.mark.parametrize(
    ("asked", "code", "says"),
    [
        ("haet", "unknown-id", "heat"),
        ("heat=boild", "unknown-state", "boiled"),
        ("heat=none", "unknown-state", "hot, boiled"),
        ("pump_worn", "wrong-kind", "It leads to: flow_weak"),
        ("gauge", "wrong-kind", ""),
    ],
)
def test_what_has_no_tree_is_told_with_a_way_out(run, asked, code, says):
    ran = run("tree", asked, "--json")
    assert ran.code == 1
    (problem,) = ran.json["problems"]
    assert problem["code"] == code
    assert says in f"{problem['message']} {problem['hint']}"


def test_no_id_is_wrong_use(run):
    assert run("tree").code == 2


def test_a_tree_from_a_file(run):
    answer = run("tree", "--from", TANK, "--json").json
    assert answer["probability"] == pytest.approx(3.501584875003555e-05, rel=1e-12)  # recomputed, see tests/published
    assert [one["causes"] for one in answer["cut_sets"]][:2] == [["K2"], ["T"]]
    assert answer["rare_event_sum"] == pytest.approx(3.5016e-05)
    out = run("tree", "--from", TANK, "--numbers").out
    assert "Probability of E1: 3.50158e-05" in out
    assert "RAW" in out


def test_a_gate_of_a_tree_from_a_file(run):
    answer = run("tree", "E4", "--from", TANK, "--json").json
    assert answer["probability"] == pytest.approx(1 - (1 - 3e-5) * (1 - 3e-5) * (1 - 1e-4), rel=1e-9)
    ran = run("tree", "E44", "--from", TANK, "--json")
    assert ran.code == 1
    assert "E4" in ran.json["problems"][0]["hint"]


def test_a_broken_tree_file_is_told_with_its_place(run, folder):
    (folder / "own.yaml").write_text("top: a\ngates: {a: {or: [b]}}\nevents: {b: 2}\n", encoding="utf-8")
    ran = run("tree", "--from", "own.yaml", "--json")
    assert ran.code == 1
    assert [(p["line"], p["code"]) for p in ran.json["problems"]] == [(3, "wrong-tree")]


def test_a_tree_too_large_says_so(run, folder):
    """Every pair of 24 events far apart in the list, counted by a vote: the diagram grows past any limit."""
    n = 24
    lines = ["top: t", "gates:"]
    for i in range(n):
        lines.append(f"  or{i}: {{or: [a{i}, b{(i * 7 + 3) % n}, c{(i * 5 + 1) % n}]}}")
        lines.append(f"  and{i}: {{and: [a{i}, c{i}, b{(i * 11) % n}]}}")
    lines.append(f"  x: {{k_of_n: [{', '.join(f'or{i}' for i in range(n))}], k: {n // 2}}}")
    lines.append(f"  y: {{k_of_n: [{', '.join(f'and{i}' for i in range(n))}], k: {n // 3}}}")
    lines += ["  t: {and: [x, y]}", "events:", *(f"  {letter}{i}: 0.1" for letter in "abc" for i in range(n))]
    (folder / "own.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    ran = run("tree", "--from", "own.yaml", "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "tree-too-large"


def test_hostile_text_of_a_tree_is_shown_as_text(run, folder):
    (folder / "own.yaml").write_text(
        'top: a\nfault_tree: "x [bold]y[/bold]"\ngates: {a: {or: [b], name: "[red]z"}}\nevents: {b: {probability: 0.5, '
        'name: "</text>&"}}\n',
        encoding="utf-8",
    )
    out = run("tree", "--from", "own.yaml").out
    assert "x [bold]y[/bold]: [red]z" in out
    run("tree", "--from", "own.yaml", "-o", "own.svg")
    assert "</text>&" in [e.text for e in ElementTree.parse(folder / "own.svg").iter()]


def test_after_a_repair_it_is_the_tree_of_how_it_all_began(run, hot):
    before = run("tree", "head_warped", hot, "--json").json
    assert run("repair", hot, "pump_worn").code == 0
    assert run("record", hot, "gauge=normal").code == 0
    after = run("tree", "head_warped", hot, "--json").json
    assert after["probability"] == pytest.approx(before["probability"], rel=1e-9)
    assert "all that was recorded before the first repair" in " ".join(run("tree", "heat", hot).out.split())
    assert "before the first repair" not in run("tree", "heat", "--no-case").out
