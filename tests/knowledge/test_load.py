"""Loading a folder: what is read, what an overlay does, and every mistake of reading with its place."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from diag.knowledge import Knowledge, load, load_in_part, shipped_folder
from diag.knowledge.registers import MODEL_NUMBERS
from diag.text import Mark

Spoil = Callable[[str, str, str], Path]
PUMP = "chapters/pump.yaml"


@pytest.fixture(scope="module")
def small() -> Knowledge:
    knowledge, problems = load(Path(__file__).parent / "small_base")
    assert problems == []
    assert knowledge is not None
    return knowledge


def overlay(folder: Path, file: str, text: str) -> Path:
    path = folder / "overlay" / file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
    return folder / "overlay"


def test_a_cause_is_read_with_all_its_fields(small: Knowledge, small_base: Path) -> None:
    cause = small.causes["pump_worn"]
    assert (cause.name, cause.what, cause.family, cause.chapter) == (
        "pump worn",
        "The vanes are gone.",
        "pump",
        "Pump and what it does",
    )
    assert cause.mark == Mark((small_base / PUMP).as_posix(), 3, 3)
    assert (cause.weight.value, cause.weight.low, cause.weight.high, cause.weight.mark.line) == (6, 4, 9, 7)
    assert [link.child for link in cause.leads_to] == ["flow_weak"]
    assert cause.shows[0].strengths["yes"]["yes"].reference == "handbook"
    assert (cause.fitted, cause.not_fitted, cause.formerly) == (("turbo",), (), ("pump_bad",))
    assert cause.also_called == ("bad pump",)
    assert cause.repair is not None
    assert (cause.repair.access, cause.repair.hazards, cause.repair.mark.line) == (("drained",), ("scald",), 13)
    assert {name: number.value for name, number in cause.repair.brings_in.items()} == {"pump_worn": 0.01}


def test_effects_keep_their_states_gates_and_leaks(small: Knowledge) -> None:
    heat, head = small.effects["heat"], small.effects["head_warped"]
    assert heat.states == ("none", "hot", "boiled")
    assert {state: number.value for state, number in heat.leak.items()} == {"hot": 0.01, "boiled": 0.005}
    assert {parent: list(to) for parent, to in heat.shows[0].strengths.items()} == {"hot": ["high"], "boiled": ["high"]}
    assert (head.kind, head.gate, head.leak, head.states) == ("damage", "and", {}, ("no", "yes"))
    assert list(head.inhibited_by) == ["flow_weak"]
    assert small.effects["flow_weak"].leak["yes"].value == 0.01
    assert small.effects["flow_weak"].residual is not None


def test_findings_tests_and_registers_are_read(small: Knowledge) -> None:
    gauge, test = small.findings["gauge"], small.tests["listen_to_pump"]
    assert (gauge.ask, gauge.complaint, gauge.words, gauge.condition) == (True, True, {"high": "in the red"}, ())
    assert small.findings["pump_noisy"].condition == ("running",)
    assert not small.findings["pump_noisy"].ask
    assert (test.how, test.skill, test.waiting, test.outcomes["pump_noisy"]["yes"]) == (
        ("Start it.", "Listen."),
        2,
        None,
        "it grinds",
    )
    assert small.access["drained"].needs == ("cold",)
    assert small.access["drained"].conflicts == ("running",)
    assert small.hazards["scald"].caution == "Let it cool first."
    assert small.history["pump_old"].factors["pump_worn"].value == 4
    assert small.fittings["turbo"].share.value == 0.5
    assert small.model["coexistence"].value.value == 0.1


def test_every_mapping_is_in_the_order_of_the_ids(small: Knowledge) -> None:
    assert list(small.findings) == ["gauge", "head_bent", "pump_noisy"]
    assert list(small.tests) == ["lay_straightedge", "listen_to_pump"]


def test_the_version_tells_contents_apart_and_nothing_else(small: Knowledge, small_base: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(small_base, copy)
    for path in copy.rglob("*.yaml"):  # as a checkout on another system may have it
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert load_in_part(copy)[0].version == small.version
    hazards = copy / "hazards.yaml"
    hazards.write_text(hazards.read_text(encoding="utf-8") + "# x\n", encoding="utf-8")
    changed = load_in_part(copy)[0].version
    assert changed != small.version
    overlaid = load_in_part(small_base, overlay(tmp_path, "hazards.yaml", "hazards: {}\n"))[0].version
    assert len({changed, small.version, overlaid}) == 3
    assert len(small.version) == 12


FOLLOWING = ("unknown-id", "unknown-hazard", "unknown-field", "missing-field", "missing-model-number", "bad-id")

# file, what stands there, what stands there instead, code, line, column
MISTAKES = [
    (PUMP, "causes:", "cause:", "unknown-section", 2, 1),
    (
        PUMP,
        "  pump_worn:\n    name: pump worn\n",
        "  pump_worn: worn\n  Pump:\n    name: pump worn\n",
        "wrong-kind",
        3,
        14,
    ),
    (PUMP, "  listen_to_pump:", "  Listen:", "bad-id", 70, 3),
    (PUMP, "  listen_to_pump:", "  not_found:", "reserved-id", 70, 3),
    (PUMP, "  listen_to_pump:", "  cold:", "id-used-twice", 70, 3),
    (PUMP, "    family: pump\n", "", "missing-field", 3, 3),
    (PUMP, "    family: pump\n", "    family:\n", "missing-field", 6, 5),
    (PUMP, "    family: pump\n", "    family: pump\n    fmily: pump\n", "unknown-field", 7, 5),
    (PUMP, "      success: 0.95", "      sucess: 0.95", "unknown-field", 17, 7),
    (PUMP, "    kind: damage", "    kind: damaged", "wrong-word", 44, 11),
    (PUMP, "    gate: and", "    gate: xor", "wrong-word", 45, 11),
    (PUMP, "    complaint: yes", "    complaint: true", "wrong-word", 58, 16),
    (PUMP, "    states: [normal, low, high]", "    states: [normal, low, high, low]", "wrong-states", 54, 14),
    (PUMP, "    hazards: [scald]\n    also_called", "    hazards: scald\n    also_called", "wrong-kind", 21, 14),
    (PUMP, "    hazards: [scald]\n    also_called", "    hazards: [[scald]]\n    also_called", "wrong-kind", 21, 15),
    (PUMP, "    also_called: [bad pump]", "    also_called: {bad: pump}", "wrong-kind", 22, 18),
    (PUMP, "    what: The vanes are gone.", "    what: [gone]", "wrong-kind", 5, 11),
    (PUMP, "    leads_to:\n      flow_weak:", "    leads_to: flow_weak\n    x:\n      flow_weak:", "wrong-kind", 8, 15),
    (
        PUMP,
        '      pump_noisy: {no: "quiet (see handbook)", yes: it grinds}',
        "      pump_noisy: it grinds",
        "wrong-kind",
        79,
        19,
    ),
    (PUMP, "weight: 6 (4..9) judgement", "weight: six", "not-a-number", 7, 13),
    (PUMP, "weight: 6 (4..9) judgement", "weight: 6", "missing-grade", 7, 13),
    (PUMP, "weight: 6 (4..9) judgement", "weight: 6 (4..9) guess", "unknown-grade", 7, 13),
    (PUMP, "    skill: 2", "    skill: two", "not-a-number", 81, 12),
    (PUMP, "      flow_weak: 0.8", "      flow_week: 0.8", "unknown-id", 9, 7),
    (PUMP, "      flow_weak: 0.8", "      gauge: 0.8", "unknown-id", 9, 7),
    (PUMP, "      flow_weak: 0.8", "      pump_bad: 0.8", "unknown-id", 9, 7),
    (PUMP, "    reveals: [pump_noisy]", "    reveals: [pump_noisy, pump_nosy]", "unknown-id", 73, 27),
    (PUMP, "inhibited_by: {flow_weak:", "inhibited_by: {flow_week:", "unknown-id", 46, 20),
    (PUMP, "brings_in: {pump_worn:", "brings_in: {pump:", "unknown-id", 20, 19),
    (PUMP, "    fitted: [turbo]", "    fitted: [turbos]", "unknown-fitting", 12, 14),
    (PUMP, "      access: [drained]", "      access: [cold, draind]", "unknown-access", 18, 22),
    (PUMP, "      hazards: [scald]", "      hazards: [scold]", "unknown-hazard", 19, 17),
    (PUMP, "    condition: [running]", "    condition: [idling]", "unknown-access", 62, 17),
    (PUMP, "{hot: {high: 0.8", "{hat: {high: 0.8", "unknown-state", 41, 15),
    (PUMP, "{hot: {high: 0.8", "{hot: {hi: 0.8", "unknown-state", 41, 21),
    (PUMP, "    words: {high:", "    words: {higher:", "unknown-state", 55, 13),
    (PUMP, "yes: it grinds", "maybe: it grinds", "unknown-state", 79, 48),
    (PUMP, "    false_alarm: {low: 0.02", "    false_alarm: {normal: 0.02", "ordinary-state", 56, 19),
    (
        PUMP,
        "{hot: 0.5 (0.3..0.7) judgement, boiled: 0.3 (0.1..0.5) judgement}",
        "0.5 (0.3..0.7) judgement",
        "states-wanted",
        32,
        13,
    ),
    ("access.yaml", "destroys: [pump_noisy]", "destroys: [noise]", "unknown-id", 15, 16),
    ("access.yaml", "conflicts: [running]", "conflicts: [runing]", "unknown-access", 14, 17),
    ("history.yaml", "{pump_worn: 4", "{pump_wron: 4", "unknown-id", 7, 15),
    ("vehicle.yaml", "question: Is there a turbo?, ", "", "missing-field", 2, 3),
    ("hazards.yaml", "hazards:", "causes:", "unknown-section", 1, 1),
    ("model.yaml", "  coexistence: {", "  coexistance: {", "unknown-model-number", 2, 3),
    ("references.yaml", "references:\n", "references:\n- ", "wrong-kind", 2, 1),
    ("history.yaml", "history:", "- history:", "wrong-kind", 1, 1),
    ("history.yaml", "    group: age", "    group: 'age", "syntax", 8, 1),
]


@pytest.mark.parametrize(("file", "old", "new", "code", "line", "column"), MISTAKES)
def test_a_mistake_is_told_with_code_line_and_column(
    spoiled: Spoil, file: str, old: str, new: str, code: str, line: int, column: int
) -> None:
    folder = spoiled(file, old, new)
    knowledge, problems = load(folder)
    assert knowledge is None
    here = [(p.code, p.mark.line, p.mark.column) for p in problems if p.mark.file == (folder / file).as_posix()]
    assert (code, line, column) in here
    assert problems == sorted(problems)
    # What follows from the mistake may come too: what is gone is missing or unknown elsewhere. Nothing else.
    assert {p.code for p in problems} <= {code, *FOLLOWING}


@pytest.mark.parametrize(
    ("new", "hint"),
    [
        ("flow_week", "Did you mean flow_weak?"),
        ("gauge", "gauge is the name of a finding."),
        ("pump_bad", "It is called pump_worn now."),
        ("zzz", "Write the entry, or name one that is there."),
    ],
)
def test_an_unknown_id_is_answered_with_what_helps(spoiled: Spoil, new: str, hint: str) -> None:
    _, problems = load(spoiled(PUMP, "      flow_weak: 0.8", f"      {new}: 0.8"))
    assert [p.hint for p in problems] == [hint]


def test_all_mistakes_are_collected(spoiled: Spoil) -> None:
    folder = spoiled(PUMP, "    family: pump\n    weight: 6 (4..9) judgement\n", "    famly: pump\n    weight: 6\n")
    _, problems = load(folder)
    assert [(p.code, p.mark.line) for p in problems] == [
        ("missing-field", 3),
        ("unknown-field", 6),
        ("missing-grade", 7),
    ]


def test_what_can_be_read_is_given_for_checking(spoiled: Spoil) -> None:
    knowledge, problems = load_in_part(spoiled(PUMP, "      flow_weak: 0.8", "      flow_week: 0.8"))
    assert [p.code for p in problems] == ["unknown-id"]
    assert knowledge.causes["pump_worn"].leads_to == ()


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("vehicles.yaml", "unknown-file"),
        ("chapters/more/pump.yaml", "unknown-file"),
        ("chapters/pump.yml", "unknown-file"),
    ],
)
def test_a_file_that_nobody_would_read_is_told(small_base: Path, tmp_path: Path, name: str, code: str) -> None:
    folder = overlay(tmp_path, name, "title: x\n")
    knowledge, problems = load(small_base, folder)
    assert knowledge is None
    assert [(p.code, str(p.mark)) for p in problems] == [(code, f"{(folder / name).as_posix()}:1:1")]


def test_other_files_are_let_be(small_base: Path, tmp_path: Path) -> None:
    assert load(small_base, overlay(tmp_path, "README.md", "# mine\n"))[1] == []


def test_a_folder_that_is_not_there_is_told(small_base: Path, tmp_path: Path) -> None:
    knowledge, problems = load(small_base, tmp_path / "none")
    assert knowledge is None
    assert [(p.code, str(p.mark)) for p in problems] == [("no-such-folder", f"{(tmp_path / 'none').as_posix()}:1:1")]


def test_a_base_without_model_numbers_is_told(small_base: Path, tmp_path: Path) -> None:
    folder = tmp_path / "base"
    shutil.copytree(small_base, folder)
    (folder / "model.yaml").unlink()
    problems = load(folder)[1]
    assert {p.code for p in problems} == {"missing-model-number"}
    assert len(problems) == len(MODEL_NUMBERS)


def test_the_shipped_folder_holds_chapters() -> None:
    assert (shipped_folder() / "chapters").is_dir()
