"""Overlays: what they add, change and take out, where that is kept, and what they cannot do."""

from __future__ import annotations

from pathlib import Path

import pytest

from diag.knowledge import Knowledge, load
from diag.knowledge.chosen import layers, load_knowledge
from diag.knowledge.load import shipped_folder
from diag.knowledge.types import Provenance
from diag.text import Problem, ProblemsFound

README = shipped_folder() / "README.md"
BELT = "causes:\n  belt_lost: {name: belt lost, family: belt, weight: 2 (1..4) judgement}\n"


@pytest.fixture
def lay(small_base: Path, tmp_path: Path):  # type: ignore[no-untyped-def]
    """Lays overlays, each told as {file: text}, over the small base; their folders are called a, b, c."""

    def lay(*overlays: dict[str, str]) -> tuple[Knowledge | None, list[Problem]]:
        folders = []
        for name, files in zip("abc", overlays, strict=False):
            for file, text in files.items():
                path = tmp_path / name / file
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(text, encoding="utf-8", newline="\n")
            folders.append(tmp_path / name)
        return load(small_base, *folders)

    return lay


def sound(laid: tuple[Knowledge | None, list[Problem]]) -> Knowledge:
    knowledge, problems = laid
    assert problems == []
    assert knowledge is not None
    return knowledge


def test_a_change_is_of_one_field_and_the_others_stay(lay, small_base: Path) -> None:
    base = sound(load(small_base))
    text = (
        "title: Our yard\nchanges:\n  pump_worn:\n    weight: 9 (6..13) judgement\n"
        "    repair: {minutes: 25 (9..60) judgement}\n"
    )
    knowledge = sound(lay({"overlay.yaml": text}))
    before, after = base.causes["pump_worn"], knowledge.causes["pump_worn"]
    assert (after.weight.value, after.weight.low, after.weight.mark.line) == (9, 6, 4)
    assert after.repair is not None and before.repair is not None
    assert (after.repair.minutes.value, after.repair.money) == (25, before.repair.money)
    assert (after.leads_to, after.name, after.mark, after.chapter) == (
        before.leads_to,
        before.name,
        before.mark,
        before.chapter,
    )
    assert knowledge.effects == base.effects
    told = [
        (done.kind, done.overlay, done.field, done.before, done.after) for done in knowledge.provenance["pump_worn"]
    ]
    assert told == [
        ("changed", "Our yard", "weight", "6 (4..9) judgement", "9 (6..13) judgement"),
        ("changed", "Our yard", "repair.minutes", "90 (60..180) judgement", "25 (9..60) judgement"),
    ]


def test_a_map_keeps_the_keys_that_are_not_named_and_none_takes_one_out(lay) -> None:
    text = "changes: {pump_worn: {shows: {gauge: {low: 0.2 (0.1..0.3) judgement}}, what: none}}\n"
    cause = sound(lay({"overlay.yaml": text})).causes["pump_worn"]
    assert [link.child for link in cause.shows] == ["pump_noisy", "gauge"]
    assert cause.what == ""
    cause = sound(lay({"overlay.yaml": "changes: {pump_worn: {shows: {pump_noisy: none}}}\n"})).causes["pump_worn"]
    assert cause.shows == ()


def test_what_is_added_is_told(lay) -> None:
    knowledge = sound(lay({"chapters/mine.yaml": BELT}))
    assert list(knowledge.causes) == ["belt_lost", "pump_worn"]
    assert knowledge.causes["belt_lost"].chapter == "mine"  # no title: the file's name
    (done,) = knowledge.provenance["belt_lost"]
    assert (done.kind, done.overlay, done.mark) == ("added", "a", knowledge.causes["belt_lost"].mark)


def test_what_is_taken_out_is_forgotten_by_all_that_names_it(lay, small_base: Path) -> None:
    assert "pump_noisy" in sound(load(small_base)).access["drained"].destroys
    knowledge = sound(lay({"overlay.yaml": "removes: [pump_noisy]\n"}))
    assert "pump_noisy" not in knowledge.findings
    assert knowledge.causes["pump_worn"].shows == ()
    assert knowledge.access["drained"].destroys == ()
    assert "listen_to_pump" not in knowledge.tests  # it revealed nothing else
    (done,) = knowledge.provenance["listen_to_pump"]
    assert (done.kind, done.mark.line, done.mark.column) == ("removed", 1, 11)


def test_overlays_go_over_each_other_in_order(lay) -> None:
    knowledge = sound(lay({"chapters/mine.yaml": BELT}, {"overlay.yaml": "changes: {belt_lost: {name: belt gone}}\n"}))
    assert knowledge.causes["belt_lost"].name == "belt gone"
    assert [done.kind for done in knowledge.provenance["belt_lost"]] == ["added", "changed"]


def test_two_overlays_may_change_different_fields_of_one_entry(lay) -> None:
    one, other = "changes: {pump_worn: {name: pump gone}}\n", "changes: {pump_worn: {what: Gone.}}\n"
    cause = sound(lay({"overlay.yaml": one}, {"overlay.yaml": other})).causes["pump_worn"]
    assert (cause.name, cause.what) == ("pump gone", "Gone.")


WEIGHT = "changes:\n  pump_worn:\n    weight: 3 (2..5) judgement\n"
# overlays; code, file and place of the problem, and what its sentence must name: the other side
CONFLICTS = [
    (
        [{"overlay.yaml": WEIGHT}, {"overlay.yaml": WEIGHT}],
        "overlay-conflict",
        "b/overlay.yaml:3:5",
        "a/overlay.yaml:3:5",
    ),
    (
        [
            {"overlay.yaml": "changes: {pump_worn: {leads_to: {flow_weak: 0.5 (0.4..0.6) judgement}}}"},
            {"overlay.yaml": "changes: {pump_worn: {leads_to: none}}"},
        ],
        "overlay-conflict",
        "b/overlay.yaml:1:23",
        "a/overlay.yaml:1:34",
    ),
    (
        [{"overlay.yaml": WEIGHT}, {"overlay.yaml": "removes: [pump_worn]"}],
        "overlay-conflict",
        "b/overlay.yaml:1:11",
        "a/overlay.yaml:3:5",
    ),
    (
        [{"overlay.yaml": "removes: [pump_worn]"}, {"overlay.yaml": WEIGHT}],
        "overlay-conflict",
        "b/overlay.yaml:2:3",
        "a/overlay.yaml:1:11",
    ),
    (
        [{"chapters/a.yaml": BELT}, {"chapters/b.yaml": BELT}],
        "id-used-twice",
        "b/chapters/b.yaml:2:3",
        "a/chapters/a.yaml:2",
    ),
    (
        [{"chapters/a.yaml": BELT.replace("belt_lost", "pump_worn")}],
        "id-used-twice",
        "a/chapters/a.yaml:2:3",
        "small_base/chapters/pump.yaml:3",
    ),
    (
        [{"overlay.yaml": "removes: [pump_noisy]\nchanges: {pump_noisy: {ask: yes}}"}],
        "unknown-id",
        "a/overlay.yaml:2:11",
        "a/overlay.yaml:1:11",
    ),
    (
        [
            {"overlay.yaml": "removes: [pump_noisy]", "chapters/a.yaml": BELT},
            {"overlay.yaml": "changes: {belt_lost: {shows: {pump_noisy: 0.5 (0.4..0.6) judgement}}}"},
        ],
        "unknown-id",
        "b/overlay.yaml:1:31",
        "a/overlay.yaml:1:11",
    ),
]


@pytest.mark.parametrize(("overlays", "code", "place", "other"), CONFLICTS)
def test_a_conflict_is_told_with_both_places(lay, overlays: list, code: str, place: str, other: str) -> None:  # type: ignore[type-arg]
    knowledge, (problem,) = lay(*overlays)
    assert knowledge is None
    assert problem.code == code
    assert str(problem.mark).endswith(place)
    assert other in problem.message + problem.hint


MISTAKES = [
    ("changes: {pump_wron: {name: x}}", "unknown-id", 1, 11, "Did you mean pump_worn"),
    ("changes: {zzz: {name: x}}", "unknown-id", 1, 11, "An overlay adds entries in chapters/NAME.yaml, not here."),
    ("removes: [pump_wron]", "unknown-id", 1, 11, "Did you mean pump_worn"),
    ("removes: [scald]", "not-removable", 1, 11, "Change it, or take out what needs it."),
    ("changes: {pump_worn: {wieght: 3 (2..4) judgement}}", "unknown-field", 1, 23, "Did you mean weight"),
    ("changes: {pump_worn: {weight: 3}}", "missing-grade", 1, 31, ""),
    ("changes: {pump_worn: {name: none}}", "missing-field", 3, 3, "Add 'name: ...'."),
    ("changes: {pump_worn: better}", "wrong-kind", 1, 22, "Write the fields below, indented."),
    ("changes: [pump_worn]", "wrong-kind", 1, 10, "Write ids below it."),
    ("removes: pump_worn", "wrong-kind", 1, 10, "Write [one, two]."),
    ("chanegs: {}", "unknown-section", 1, 1, "Did you mean changes?"),
    ("- changes", "wrong-kind", 1, 1, "Begin with 'changes:'."),
]


@pytest.mark.parametrize(("text", "code", "line", "column", "hint"), MISTAKES)
def test_a_mistake_in_an_overlay_has_its_place(lay, text: str, code: str, line: int, column: int, hint: str) -> None:
    knowledge, (problem,) = lay({"overlay.yaml": text})
    assert knowledge is None
    assert (problem.code, problem.mark.line, problem.mark.column) == (code, line, column)
    assert hint in problem.hint


def test_a_second_base_is_refused(lay) -> None:
    _, (problem,) = lay({"model.yaml": "model: {}\n"})
    assert problem.code == "second-base"
    assert problem.mark.file.endswith("a/model.yaml")


def test_an_overlay_file_in_a_base_is_not_read_in_silence(spoiled) -> None:
    folder = spoiled("chapters/pump.yaml", "name: pump worn", "name: pump bad")
    (folder / "overlay.yaml").write_text("changes: {}\n", encoding="utf-8")
    assert [problem.code for problem in load(folder)[1]] == ["unknown-file"]


def test_an_overlay_is_part_of_the_version(lay, small_base: Path) -> None:
    assert sound(lay({"overlay.yaml": WEIGHT})).version != sound(load(small_base)).version


def test_the_first_folder_may_be_a_base(small_base: Path, tmp_path: Path) -> None:
    assert layers([small_base, tmp_path]) == (small_base, tmp_path)
    assert layers([tmp_path]) == (shipped_folder(), tmp_path)
    assert layers([]) == (shipped_folder(),)
    with pytest.raises(ProblemsFound) as raised:
        load_knowledge(small_base, small_base)
    assert {problem.code for problem in raised.value.problems} >= {"second-base", "id-used-twice"}


def test_the_example_in_the_readme_fits_the_shipped_base(tmp_path: Path) -> None:
    text = README.read_text(encoding="utf-8")
    example = text[text.index("# overlay.yaml\n") :]
    (tmp_path / "overlay.yaml").write_text(example[: example.index("```")], encoding="utf-8")
    reference = "references: {own_cases: {name: our own confirmed cases, where: case files of the yard}}\n"
    (tmp_path / "references.yaml").write_text(reference, encoding="utf-8")
    knowledge = load_knowledge(tmp_path)
    assert knowledge.causes["thermostat_stuck_closed"].weight.value == 9
    assert knowledge.findings["fan_silent_hot"].false_alarm["yes"].reference == "own_cases"
    assert knowledge.model["coexistence"].value.value == 0.1
    assert "cap_vacuum_valve_stuck" not in knowledge.causes
    told: tuple[Provenance, ...] = knowledge.provenance["cap_vacuum_valve_stuck"]
    assert [done.kind for done in told] == ["removed"]
