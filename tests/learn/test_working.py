"""What works in a base of two causes, every number derived by hand; the kept count; the command that renews it."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from oracle.knowledge import HERE, base, cause, fact, finding, number, seen
from typer.testing import CliRunner

from diag.cli.main import app
from diag.knowledge import Knowledge, TestEntry, Told, Twin, load_in_part
from diag.learn.kept import KEPT, read_kept, working_data, write_kept
from diag.learn.twin_cases import observed, twin_cases
from diag.learn.working import best_parting, first_of, working
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

TINY_BASE = Path(__file__).parent.parent / "cli" / "tiny_base"


def answers(**told: str) -> tuple[Told, ...]:
    return tuple(Told(id, state, HERE, HERE) for id, state in told.items())


def look_for(name: str, *reveals: str) -> TestEntry:
    free = number(0.0)
    return TestEntry(
        id=name, name=name, chapter="test", mark=HERE, how=("Look.",), reveals=reveals, minutes=free, money=free,
        tools=(), access=(), outcomes={}, hazards=(),
    )  # fmt: skip


# Weights 6 and 3, nothing wrong 1; a second fault with 0.08 (leak) and 0.04 (clog). "wet" is the complaint, so its
# false alarm is 0.01 (network/test_case_by_hand.py derives it): P(wet | leak) 0.80596, clog 0.53668, nothing 0.0918928;
# weights 0.483576, 0.161004, 0.00918928, so P(leak | wet) = 0.7397. Without it 0.6: "wet" moves the leader.
# "hum" is a false alarm of 0.1 whatever is wrong, but for the leak, which adds 0.001: "no" moves the leader by
# about 0.7397 x 0.2603 x 0.001 = 0.0002, which is no move.
# Left to ask is the fact "work": P(yes) 0.2 x factor. Leak 0.6 (factor 3) against clog 0.2 tells
# H(0.4) - (H(0.6) + H(0.2)) / 2 = 0.970951 - (0.970951 + 0.721928) / 2 = 0.124511 bit; against clog 0.4 (factor 2)
# H(0.5) - (0.970951 + 0.970951) / 2 = 1 - 0.970951 = 0.029049 bit, below 0.05: twins.
PARTED, ALIKE = 0.1245112, 0.0290494
MODEL = {"share_without_fault": 1.0, "coexistence": 0.12, "complaint_false_alarm": 0.1, "second_look_copies": 0.4}


def two_causes(factor_of_clog: float) -> Knowledge:
    factors = {"leak": 3.0, "clog": factor_of_clog}
    plain = base(
        [cause("leak", 6.0, shows={"wet": 0.8, "hum": 0.001}), cause("clog", 3.0, shows={"wet": 0.5})],
        [finding("wet", {"yes": 0.1}), finding("hum", {"yes": 0.1})],
        history=[fact("work", "work", 0.2, factors)],
        model=MODEL,
    )
    twins = {
        "clog": Twin("clog", HERE, (), answers(wet="yes"), "leak", twin_of="leak", why="A leak wets more."),
        "leak": Twin("leak", HERE, answers(wet="yes", hum="no"), answers(wet="yes", hum="no", work="no"), "clog"),
    }
    return replace(plain, twins=twins, tests={t: look_for(t, "wet") for t in ("peek", "dig")})


def proposed(_: Diagnosis) -> tuple[list[str], list[str]]:
    return ["hum", "a", "b", "c", "d", "work"], ["peek", "a", "b", "c", "d", "dig"]


def nobody(_done: int, _whole: int) -> None:
    pass


def diagnosis(knowledge: Knowledge) -> Diagnosis:
    observations = observed(knowledge, knowledge.twins["leak"].first)
    assert observations is not None
    return Diagnosis(compile_case(knowledge, observations))


@pytest.mark.parametrize(("factor", "bits"), [(1.0, PARTED), (2.0, ALIKE)])
def test_bits_between_two_causes(factor: float, bits: float) -> None:
    # "hum" was told, so "work" is all that is left.
    assert best_parting(diagnosis(two_causes(factor)), "leak") == {"clog": pytest.approx(bits, abs=1e-6)}


def test_a_cause_that_the_evidence_rules_out_is_parted() -> None:
    knowledge = two_causes(0.0)
    observations = observed(knowledge, answers(wet="yes", work="yes"))
    assert observations is not None
    assert best_parting(Diagnosis(compile_case(knowledge, observations)), "leak") == {"clog": 1.0}


def test_what_works_in_two_causes() -> None:
    told: list[tuple[int, int]] = []
    found = working(two_causes(1.0), [seen()], proposed, lambda done, whole: told.append((done, whole)))
    assert found.working == {"causes": ("leak",), "findings": ("wet",), "tests": ("peek",), "questions": ("hum",)}
    assert found.not_working == {
        "causes": ("clog",),
        "findings": ("hum",),
        "tests": ("dig",),
        "questions": ("wet", "work"),
    }
    assert found.twins == (("clog", "leak"),)  # the declared one
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]  # three twin cases and the worked one


def test_a_cause_that_nothing_parts_is_a_twin_and_does_not_work() -> None:
    found = working(two_causes(2.0), [], proposed, nobody)
    assert found.working["causes"] == ()
    assert found.twins == (("clog", "leak"), ("leak", "clog"))


def test_a_cause_that_does_not_come_first_does_not_work() -> None:
    knowledge = two_causes(1.0)
    clog = replace(knowledge.twins["clog"], first=answers(wet="yes"), twin_of="")
    found = working(replace(knowledge, twins={**knowledge.twins, "clog": clog}), [], proposed, nobody)
    assert (found.working["causes"], found.twins) == (("leak",), ())


def test_a_test_counts_that_is_proposed_before_its_answer_was_told() -> None:
    def when_dry(told: Diagnosis) -> tuple[list[str], list[str]]:
        return [], [] if "wet" in told.case.recorded else ["dig"]

    assert working(two_causes(1.0), [], when_dry, nobody).working["tests"] == ("dig",)


def test_the_leader_is_the_likeliest_and_of_equals_the_first_by_name() -> None:
    assert first_of({"b": 0.4, "c": 0.2, "a": 0.4}) == ("a", 0.4)


def test_a_case_with_an_unknown_answer_is_not_played() -> None:
    knowledge = two_causes(1.0)
    assert [(case.leader, case.is_first) for case in twin_cases(knowledge)] == [
        ("leak", False),
        ("leak", True),
        ("clog", False),
    ]
    assert observed(knowledge, answers(wet="yes", hmu="no")) is None
    assert observed(knowledge, answers(wet="damp")) is None


# --- the kept count ---


def test_the_kept_count_is_of_one_version(tmp_path: Path) -> None:
    data = working_data(working(two_causes(1.0), [], proposed, nobody), "v1")
    assert (data["causes"], data["twins"], data["not_working"]["causes"]) == (1, [["clog", "leak"]], ["clog"])
    assert read_kept(tmp_path, "v1") is None
    write_kept(tmp_path, data)
    assert read_kept(tmp_path, "v1") == data
    assert read_kept(tmp_path, "v2") is None
    assert [path.name for path in tmp_path.iterdir()] == [KEPT]


@pytest.mark.parametrize("text", ["", "[]", '{"knowledge": "v1"}', "\x00"])
def test_a_broken_file_is_as_good_as_none(tmp_path: Path, text: str) -> None:
    (tmp_path / KEPT).write_text(text, encoding="utf-8", newline="\n")
    assert read_kept(tmp_path, "v1") is None


# --- the command ---

# Of the three causes that weaken the flow the pump weighs most; a low level and a puddle are a split hose.
TWINS = """\
twins:
  pump_worn:
    first: {gauge: high, head_bent: no, level_low: no}
    not_first: {gauge: high, head_bent: no, level_low: yes, puddle: yes}
    instead: hose_split
"""


@pytest.fixture
def counted(tmp_path: Path) -> Path:
    folder = tmp_path / "counted"
    shutil.copytree(TINY_BASE, folder)
    (folder / "twins.yaml").write_text(TWINS, encoding="utf-8", newline="\n")
    return folder


def run(*arguments: str) -> tuple[dict, str]:
    result = CliRunner().invoke(app, ["validate", "--json", *arguments])
    return json.loads(result.stdout), result.stderr


def test_what_was_not_counted_is_told_with_the_way_to_count_it(counted: Path) -> None:
    told, _ = run(str(counted))
    assert told["working"] is None
    assert told["working_note"].endswith(f"diag validate --work --knowledge {counted}")


def test_the_command_counts_keeps_and_tells(counted: Path) -> None:
    version = load_in_part(counted)[0].version
    told, progress = run("--work", str(counted))
    assert told["problems"][0]["severity"] == "warning"  # three of the causes have no twin cases
    assert told["working"]["knowledge"] == version
    # The noise and the age of the pump part it from the belts; the belts have no case of their own to be counted in.
    assert (told["working"]["causes"], told["working"]["twins"]) == (1, [])
    assert told["working"]["not_working"]["causes"] == ["belt_glazed", "belt_slips", "hose_split"]
    assert "2 of 2 cases" in progress
    assert (counted / KEPT).is_file()
    assert load_in_part(counted)[0].version == version  # the kept count is no part of the version
    again, quiet = run(str(counted))
    assert (again["working"], again["working_note"], quiet) == (told["working"], "", "")


def test_what_was_counted_for_another_version_is_stale(counted: Path) -> None:
    run("--work", str(counted))
    (counted / "twins.yaml").write_text(TWINS + "# changed\n", encoding="utf-8", newline="\n")
    told, _ = run(str(counted))
    assert told["working"] is None
    assert "not counted for this version" in told["working_note"]


def test_a_base_with_errors_is_not_counted(counted: Path) -> None:
    (counted / "twins.yaml").write_text(TWINS.replace("level_low: no", "level_low: on"), encoding="utf-8", newline="\n")
    told, progress = run("--work", str(counted))
    assert (told["working"], progress, (counted / KEPT).exists()) == (None, "", False)


def test_the_screen_names_what_does_not_work(counted: Path) -> None:
    run("--work", str(counted))
    shown = CliRunner().invoke(app, ["validate", str(counted)]).stdout
    assert "What works" in shown
    assert "head_bent" in shown
