"""``diag learn`` from files: shown, refused with the reason, kept as an overlay that a base can wear."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from diag.cli.main import app

BASE = Path(__file__).with_name("tiny_base")


def run(*words):
    return CliRunner().invoke(app, ["--knowledge", str(BASE), *map(str, words)])


@pytest.fixture
def base():
    from diag.session import load_knowledge

    return load_knowledge(BASE)


@pytest.fixture
def closed(tmp_path, base):
    """Three closed cases, one open one."""
    cause, finding = sorted(base.causes)[0], sorted(base.findings)[0]
    files = []
    for name in ("one", "two", "three", "open"):
        path = tmp_path / f"{name}.yaml"
        assert run("new", path, "--vehicle", name).exit_code == 0
        state = base.findings[finding].states[0 if name == "two" else -1]
        assert run("record", path, f"{finding}={state}").exit_code == 0
        if name != "open":
            assert run("confirm", path, "not_found" if name == "three" else cause).exit_code == 0
        files.append(path)
    return cause, files


def learnt(*words):
    done = run("learn", *words, "--json")
    assert done.exit_code == 0, done.output
    return done.stdout


def test_what_is_shown_and_what_is_refused(closed):
    cause, files = closed
    told = json.loads(learnt(*files))
    own = next(c for c in told["causes"] if c["id"] == cause)
    assert (told["learnt"], own["confirmed"]) == (3, 2)
    assert own["after"] > own["before"]
    assert own["before_interval"][0] < own["before"] < own["before_interval"][1]
    assert [(Path(r["file"]).name, "not confirmed" in r["why"]) for r in told["refused"]] == [("open.yaml", True)]
    page = run("learn", *files)
    assert page.exit_code == 0
    assert cause in page.output
    assert "open.yaml" in page.output


def test_the_order_of_the_files_changes_no_byte(closed):
    _, files = closed
    assert learnt(*files) == learnt(*reversed(files))


def test_the_overlay_fits_the_base_and_a_case_counts_once(closed, tmp_path):
    from diag.session import load_knowledge

    cause, files = closed
    out = tmp_path / "learnt"
    first = json.loads(learnt(*files[:2], "-o", out))
    worn = load_knowledge(BASE, out)
    own = next(c for c in first["causes"] if c["id"] == cause)
    assert worn.causes[cause].weight.value == pytest.approx(own["weight"], rel=1e-6)
    assert worn.causes[cause].weight.grade == "computed"
    own_source = f"learnt_{out_digest(out)}"
    assert worn.causes[cause].weight.reference == own_source
    assert own_source in worn.references
    again = json.loads(learnt(*files[:2], "-o", out))
    assert again["learnt"] == 0
    assert again["causes"] == first["causes"]
    more = json.loads(learnt(*files[:3], "-o", out))
    assert more["learnt"] == 1
    assert len(more["learnt_before"]) == 2
    assert len(json.loads((out / "learnt.json").read_text())["cases"]) == 3


def test_validate_accepts_the_base_with_what_was_learnt_over_it(closed, tmp_path):
    _, files = closed
    out = tmp_path / "learnt"
    learnt(*files, "-o", out)
    told = CliRunner().invoke(app, ["--knowledge", str(BASE), "--knowledge", str(out), "validate", "--json"])
    before = CliRunner().invoke(app, ["--knowledge", str(BASE), "validate", "--json"])

    def errors(result):
        return [p for p in json.loads(result.stdout)["problems"] if p["severity"] == "error"]

    assert errors(told) == errors(before)
    assert json.loads(told.stdout)["counts"]["computed"] > json.loads(before.stdout)["counts"]["computed"]


def test_a_folder_of_something_else_is_left_alone(closed, tmp_path):
    _, files = closed
    other = tmp_path / "other"
    other.mkdir()
    (other / "mine.txt").write_text("mine")
    assert run("learn", *files, "-o", other).exit_code == 1
    assert [path.name for path in other.iterdir()] == ["mine.txt"]


def out_digest(out):
    """As overlay.py names its source: by all cases in it."""
    from hashlib import sha256

    cases = json.loads((out / "learnt.json").read_text(encoding="utf-8"))["cases"]
    return sha256(" ".join(cases).encode()).hexdigest()[:8]
