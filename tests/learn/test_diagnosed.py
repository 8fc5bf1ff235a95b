"""Files of diagnosed cases: what is read, and where what is wrong is told."""

import pytest

from diag.learn import read_cases


def one_case(**fields):
    told = {"id": "one", "in_scope": "yes", "fitted": "{}", "intake": "{wet: yes}", "steps": "[]", "reveal": "null"}
    told |= {"truth": "[leak]", "family": "leak", **fields}
    return "- {" + ", ".join(f"{name}: {value}" for name, value in told.items()) + "}\n"


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"in_scope": "perhaps"}, "perhaps"),
        ({"intake": "wet"}, "wet"),
        ({"intake": "{wet: [yes]}"}, "[yes]"),
        ({"steps": "{wet: yes}"}, "{wet: yes}, rev"),
        ({"steps": "[wet]"}, "wet]"),
        ({"truth": "leak"}, "leak, fam"),
        ({"reveal": "0"}, "0"),
    ],
)
def test_a_field_of_the_wrong_kind_is_told_by_its_place(tmp_path, fields, place):
    path, text = tmp_path / "cases.yaml", one_case(**fields)
    path.write_text(text, encoding="utf-8")
    _, (problem,) = read_cases(path)
    assert (problem.code, problem.mark.line, problem.mark.column) == ("wrong-case", 1, text.index(place) + 1)


def test_two_cases_of_one_id_are_a_problem(tmp_path):
    path = tmp_path / "cases.yaml"
    path.write_text(one_case() + one_case(), encoding="utf-8")
    assert [problem.mark.line for problem in read_cases(path)[1]] == [2]


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("id: one\n", 1, 1),
        ("- one\n", 1, 3),
        ("- {id: one}\n", 1, 3),
        ("- {id: one}\n- [two]\n", 1, 3),
    ],
)
def test_a_wrong_file_is_told_by_its_place(tmp_path, text, line, column):
    path = tmp_path / "cases.yaml"
    path.write_text(text, encoding="utf-8")
    _, problems = read_cases(path)
    assert (problems[0].mark.line, problems[0].mark.column) == (line, column)


def test_fitted_is_a_map_or_a_list_of_what_the_vehicle_has(tmp_path):
    path = tmp_path / "cases.yaml"
    path.write_text(one_case(fitted="[fan, pump]") + one_case(id="two", fitted="{fan: no}"), encoding="utf-8")
    (listed, mapped), problems = read_cases(path)
    assert not problems
    assert [(told.id, told.state) for told in (*listed.fitted, *mapped.fitted)] == [
        ("fan", "yes"),
        ("pump", "yes"),
        ("fan", "no"),
    ]


def test_what_is_left_open_is_empty(tmp_path):
    path = tmp_path / "cases.yaml"
    text = one_case(fitted="", intake="", steps="[null, {wet: no}]", truth="null", reveal="2", in_scope="true")
    path.write_text(text, encoding="utf-8")
    (case,), problems = read_cases(path)
    assert not problems
    assert (case.fitted, case.intake, case.truth, case.in_scope) == ((), (), (), True)
    assert case.steps[0] == ()
    assert case.known("told") == ()
