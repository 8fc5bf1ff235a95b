"""Every kind of mistake, tried: its exit code, and a sentence with the place where the data are to blame."""

from __future__ import annotations

import json
import re

import pytest

# What was typed is no file: its mistakes have no place. {} is the case file; exit code; what the sentence names.
TYPED = [
    ("record {} puddel=yes", 1, "puddle"),
    ("record {} puddle=maybe", 1, "no, yes"),
    ("record {} puddle=yes --instead 99", 1, "99"),
    ("undo {} --entry 99", 1, "99"),
    ("confirm {} pump_wron", 1, "pump_worn"),
    ("show pump_wron", 1, "pump_worn"),
    ("why {} pump_wron", 1, "pump_worn"),
    ("settings {} houre=3", 1, "hour"),
    ("settings {} hour=much", 1, "number"),
    ("settings {} units=miles", 1, "imperial"),
    ("validate --explain mising-grade", 1, "missing-grade"),
    ("new other.yaml --fitted wings", 1, "wings"),
    ("new {}", 1, "hot.yaml"),
]


@pytest.mark.parametrize(("line", "code", "named"), TYPED)
def test_what_was_typed(run, hot, line, code, named):
    ran = run(*line.format(hot).split())
    assert ran.code == code
    told = " ".join(ran.err.split())
    assert named in told and "error: " in told
    assert re.search(r"\[[a-z-]+\]$", told), told
    assert "Traceback" not in told and ran.out == ""


# Broken files: the text of the case, and the place that is told.
STAMP = "    time: 2024-05-31T16:20:00Z\n    knowledge: tiny\n"
CASE = "diag_case: true\nformat: 1\nvehicle: van\nentries:\n  - entry: 1\n    opened: {}\n" + STAMP
FILES = [
    ("diag_case: true\nentries: [\n", "3:1"),
    (CASE + "  - entry: 2\n    finding: gauge\n    stat: high\n" + STAMP, "11:5"),
    (CASE + "  - entry: 2\n    finding: gauche\n    state: high\n" + STAMP, "10:14"),
    (CASE + "  - entry: 2\n    finding: gauge\n    state: hihg\n" + STAMP, "11:12"),
    (CASE.replace("format: 1", "format: 99"), "2:9"),
]


@pytest.mark.parametrize(("text", "place"), FILES)
@pytest.mark.parametrize("command", ["causes", "next", "validate", "report"])
def test_a_broken_file_is_told_with_its_place_and_never_touched(run, folder, text, place, command):
    path = folder / "broken.yaml"
    path.write_text(text, encoding="utf-8", newline="\n")
    more = ("-o", "sheet.html") if command == "report" else ()
    ran = run(command, "broken.yaml", *more)
    assert ran.code == 1
    assert f"broken.yaml:{place}: error: " in ran.err + ran.out
    assert path.read_text(encoding="utf-8") == text
    assert not (folder / "sheet.html").exists()


@pytest.mark.parametrize("command", ["causes", "next", "status", "validate"])
def test_under_json_the_same_is_one_object(run, command):
    ran = run(command, "nowhere.yaml", "--json")
    assert ran.code == 1
    (problem,) = json.loads(ran.out)["problems"]
    assert (problem["file"], problem["line"], problem["column"], problem["code"]) == (
        "nowhere.yaml",
        1,
        1,
        "no-such-file",
    )


WRONG_USE = [
    "record",
    "nonsense",
    "causes --nonsense",
    "export {} -o out.txt",
    "report {} -o out.pdf",
    "record {}",
    "confirm",
    "show",
    "settings {} hour",
]


@pytest.mark.parametrize("line", WRONG_USE)
def test_wrong_use_is_told_with_2(run, hot, line):
    ran = run(*line.format(hot).split())
    assert ran.code == 2
    assert ran.err.startswith("Usage: ")


def test_a_case_that_ties_too_much_together_is_told_and_nothing_else_is_hidden(run, hot, monkeypatch):
    from diag.network.plan import CliqueTooLarge
    from diag.session import Session

    def too_large(_: Session) -> None:
        raise CliqueTooLarge((1, 2), 10, 5)

    monkeypatch.setattr(Session, "causes", property(too_large))
    ran = run("causes", hot)
    assert ran.code == 1
    assert "ties too much together" in ran.err and "[too-much-together]" in ran.err
    monkeypatch.setattr(Session, "causes", property(lambda _: int("x")))
    with pytest.raises(ValueError, match="invalid literal"):
        run("causes", hot)
