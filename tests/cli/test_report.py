"""``diag report``: what it writes, and what it says where it cannot."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("name", ["sheet.html", "sheet.md"])
def test_the_sheet_is_written_whole_in_the_form_that_its_name_tells(run, folder, hot, name):
    (folder / name).write_text("old", encoding="utf-8")
    ran = run("report", hot, "-o", name)
    assert (ran.code, ran.out) == (0, f"Written: {name}\n")
    text = (folder / name).read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>" if name.endswith("html") else "# Job sheet")
    assert "hot.yaml" in text.replace("\\", "")
    assert sorted(path.name for path in folder.iterdir()) == [
        "hot.yaml",
        "hot.yaml.lock",
        name,
    ]  # nothing half done beside it


def test_another_form_is_wrong_use(run, hot):
    ran = run("report", hot, "-o", "sheet.docx")
    assert ran.code == 2
    assert ".html or .md" in ran.err


def test_where_it_cannot_be_written_the_reason_is_told(run, hot):
    ran = run("report", hot, "-o", "nowhere/sheet.html")
    assert ran.code == 1
    assert ran.err.startswith("nowhere/sheet.html:1:1: error: the file cannot be written")


def test_a_broken_case_makes_no_sheet(run, folder):
    (folder / "broken.yaml").write_text("diag_case: true\nformat: 1\nentries: [\n", encoding="utf-8")
    ran = run("report", "broken.yaml", "-o", "sheet.html")
    assert ran.code == 1
    assert not (folder / "sheet.html").exists()


def test_impossible_evidence_makes_no_sheet(run, folder, strict_base):
    assert run("new", "odd.yaml", base=strict_base).code == 0
    assert run("record", "odd.yaml", "puddle=yes", "level_low=no", base=strict_base).code == 0
    ran = run("report", "odd.yaml", "-o", "sheet.html", base=strict_base)
    assert ran.code == 1
    assert not (folder / "sheet.html").exists()
