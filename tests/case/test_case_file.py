"""The case file: round trip, prefix, refusals with their place, a person's hand in it."""

from __future__ import annotations

import os
import stat
from datetime import UTC, datetime
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import given, settings
from hypothesis import strategies as st

from diag.case import (
    AccessEntry,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    RepairEntry,
    SettingEntry,
    TheoryEntry,
    UndoEntry,
    append,
    create,
    extend,
    load,
)
from diag.text import ProblemsFound
from diag.text.document import MAX_BYTES

NOW = datetime(2024, 5, 31, 16, 20, 7, tzinfo=UTC)
SEEN = FindingEntry(finding="bottom_hose_cold", state="yes")
ANY_TEXT = st.text(st.characters(exclude_categories=()), max_size=20)
SOME_TEXT = st.text(st.characters(exclude_categories=()), min_size=1, max_size=20)


def _entries() -> st.SearchStrategy[Entry]:
    said = {"by": ANY_TEXT, "note": ANY_TEXT}
    words = st.lists(SOME_TEXT, max_size=3).map(tuple)
    return st.one_of(
        st.builds(
            FindingEntry,
            finding=SOME_TEXT,
            state=SOME_TEXT,
            reading=ANY_TEXT,
            complaint=st.booleans(),
            when=words,
            with_instrument=ANY_TEXT,
            **said,
        ),
        st.builds(FittingEntry, fitting=SOME_TEXT, fitted=st.sampled_from([True, False, None]), **said),
        st.builds(
            RepairEntry,
            repair=words,
            how_well=st.sampled_from(["usual", "fine", "with_trouble"]),
            before_case=st.booleans(),
            **said,
        ),
        st.builds(AccessEntry, access=SOME_TEXT, reached=st.booleans(), **said),
        st.builds(SettingEntry, setting=SOME_TEXT, value=ANY_TEXT, **said),
        st.builds(TheoryEntry, theory=SOME_TEXT, followed=words, absent=words, **said),
        st.builds(ConfirmedEntry, confirmed=SOME_TEXT, seen=ANY_TEXT, good=words, **said),
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "case.yaml"
    create(file, "grey tractor", {"turbo": False}, knowledge="k1", now=NOW)
    return file


def _refused(path: Path, **more: object) -> str:
    """The problem that recording meets; the file must be as it was, with no scraps beside it."""
    before = path.read_bytes()
    with pytest.raises(ProblemsFound) as caught:
        append(path, [SEEN], knowledge="k1", **more)  # type: ignore[arg-type]
    assert path.read_bytes() == before
    assert not list(path.parent.glob(".*.new"))
    return str(caught.value)


@settings(max_examples=60, deadline=None)
@given(vehicle=ANY_TEXT, batches=st.lists(st.lists(_entries(), min_size=1, max_size=3), min_size=1, max_size=3))
def test_whatever_is_told_reads_back_equal_and_old_bytes_stay(
    tmp_path_factory: pytest.TempPathFactory, vehicle: str, batches: list[list[Entry]]
) -> None:
    file = tmp_path_factory.mktemp("case") / "case.yaml"
    create(file, vehicle, {"turbo": True}, knowledge="k1", now=NOW)
    told: list[Entry] = []
    for batch in batches:
        before = file.read_bytes()
        append(file, batch, knowledge="k2", now=NOW)
        told += batch
        assert file.read_bytes().startswith(before)
    case = load(file)
    assert case.vehicle == vehicle
    stamped = [entry.stamped(n, "2024-05-31T16:20:07Z", "k2") for n, entry in enumerate(told, start=2)]
    assert list(case.entries[1:]) == stamped


def test_the_file_is_as_documented(path: Path) -> None:
    append(
        path,
        [FindingEntry(finding="gauge_shows", state="hot", complaint=True, when=("hot",))],
        knowledge="k1",
        now=NOW,
    )
    append(path, [UndoEntry(undo=2, by="owner", note="it was\nthe other one")], knowledge="k1", now=NOW)
    assert (
        path.read_text(encoding="utf-8").split("\n", 1)[1]
        == """diag_case: true
format: 1
vehicle: grey tractor
entries:
  - entry: 1
    opened: {turbo: no}
    time: 2024-05-31T16:20:07Z
    knowledge: k1
  - entry: 2
    finding: gauge_shows
    state: hot
    complaint: yes
    when: [hot]
    time: 2024-05-31T16:20:07Z
    knowledge: k1
  - entry: 3
    undo: 2
    by: owner
    note: "it was\\nthe other one"
    time: 2024-05-31T16:20:07Z
    knowledge: k1
"""
    )


def test_a_new_case_refuses_an_existing_file(path: Path) -> None:
    before = path.read_bytes()
    with pytest.raises(ProblemsFound, match="file-exists"):
        create(path, "other", {}, knowledge="k1")
    assert path.read_bytes() == before


def test_a_new_case_refuses_a_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(ProblemsFound, match="no-such-folder"):
        create(tmp_path / "typo" / "case.yaml", "x", {}, knowledge="k1")
    assert not (tmp_path / "typo").exists()


def test_a_missing_file_makes_no_folder(tmp_path: Path) -> None:
    missing = tmp_path / "typo" / "case.yaml"
    with pytest.raises(ProblemsFound, match="no-such-file"):
        append(missing, [SEEN], knowledge="k1")
    with pytest.raises(ProblemsFound, match="no-such-file"):
        load(missing)
    assert not missing.parent.exists()


HEAD = "diag_case: true\nformat: 1\nvehicle: x\nentries:\n"
FIRST = "  - entry: 1\n    opened: {}\n    time: 2024-05-31T16:20:07Z\n    knowledge: k1\n"
NEXT = "    time: 2024-05-31T16:20:07Z\n    knowledge: k1\n"


@pytest.mark.parametrize(
    ("content", "place", "code"),
    [
        ("", "1:1", "not-a-case"),
        ("title: Thermostat\ncauses: {}\n", "1:1", "not-a-case"),
        ("- a\n- b\n", "1:1", "not-a-case"),
        ("diag_case: no\nformat: 1\n", "1:12", "not-a-case"),
        (
            HEAD.replace("format: 1", "format: 2") + FIRST + "  - entry: 2\n    unheard_of: x\n",
            "2:9",
            "newer-format",
        ),
        (HEAD.replace("format: 1", "format: one") + FIRST, "2:9", "case-format"),
        ("diag_case: true\nvehicle: x\n", "1:1", "case-format"),
        (HEAD, "4:9", "case-entries"),
        (HEAD.replace("entries:", "entries: []"), "4:10", "case-entries"),
        (HEAD + FIRST + "  - entry: 2\n    finding: [a\n" + NEXT, "11:9", "syntax"),
        (HEAD + FIRST + "  - entry: 2\n    finding: &a b\n    state: *a\n" + NEXT, "10:14", "anchor"),
        (HEAD + FIRST + "  - entry: 2\n    finding: &a b\n    state: *a\n" + NEXT, "11:12", "alias"),
        (HEAD + FIRST + "  - entry: 2\n    finding: !x b\n    state: a\n" + NEXT, "10:14", "tag"),
        (
            HEAD + FIRST + "  - entry: 2\n    entry: 3\n    finding: a\n    state: a\n" + NEXT,
            "10:5",
            "duplicate-key",
        ),
        (HEAD + FIRST + "  - entry: 1\n    undo: 1\n" + NEXT, "9:12", "entry-number"),
        (HEAD + FIRST + "  - entry: two\n    undo: 1\n" + NEXT, "9:12", "case-value"),
        (
            HEAD + FIRST + "  - entry: 2\n    undo: 1\n    fitting: a\n    fitted: no\n" + NEXT,
            "11:5",
            "entry-kind",
        ),
        (HEAD + FIRST + "  - entry: 2\n    fnding: a\n    state: a\n" + NEXT, "9:5", "entry-kind"),
        (HEAD + FIRST + "  - entry: 2\n    finding: a\n    stat: a\n" + NEXT, "11:5", "unknown-key"),
        (HEAD + FIRST + "  - entry: 2\n    finding: a\n" + NEXT, "9:5", "case-value"),
        (HEAD + FIRST + "  - entry: 2\n    fitting: a\n    fitted: perhaps\n" + NEXT, "11:13", "case-value"),
        (
            HEAD + FIRST + "  - entry: 2\n    undo: 1\n    time: yesterday\n    knowledge: k\n",
            "11:11",
            "case-value",
        ),
        (
            HEAD + FIRST + "  - entry: 2\n    undo: 1\n    time: 2024-02-30T00:00:00Z\n    knowledge: k\n",
            "11:11",
            "case-value",
        ),
        (HEAD + FIRST + "  - entry: 2\n    repair: {a: b}\n" + NEXT, "10:13", "case-value"),
        (HEAD + FIRST + "  - entry: 2\n    repair: [a, [b]]\n" + NEXT, "10:17", "case-value"),
        (HEAD + FIRST + FIRST.replace("entry: 1", "entry: 2"), "9:5", "entry-order"),
        (
            HEAD + FIRST + "  - entry: 2\n    setting: a\n    value: \x1b\n" + NEXT,
            "11:12",
            "control-character",
        ),
        (HEAD + FIRST + "---\nmore: x\n", "9:1", "several-documents"),
    ],
)
def test_a_file_that_is_no_sound_case_is_left_alone(tmp_path: Path, content: str, place: str, code: str) -> None:
    file = tmp_path / "case.yaml"
    file.write_text(content, encoding="utf-8")
    told = _refused(file).split("\n")
    assert any(line.startswith(f"{file.as_posix()}:{place}: ") and f"[{code}]" in line for line in told), told


def test_all_problems_are_told_at_once_and_sorted(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    file.write_text(HEAD + FIRST + "  - entry: 2\n    undo: x\n    tme: y\n    knowledge: k\n", encoding="utf-8")
    with pytest.raises(ProblemsFound) as caught:
        load(file)
    places = [(p.mark.line, p.mark.column, p.code) for p in caught.value.problems]
    assert places == [(9, 5, "case-value"), (10, 11, "case-value"), (11, 5, "unknown-key")]
    assert "Did you mean time?" in caught.value.problems[2].hint


def test_bytes_that_are_not_utf8_are_left_alone(path: Path) -> None:
    with path.open("ab") as stream:
        stream.write(b"# K\xfchler\n")
    assert ":10:4: error: " in _refused(path)


def test_a_huge_file_is_left_alone(path: Path) -> None:
    with path.open("ab") as stream:
        stream.write(b"#" * MAX_BYTES)
    assert "too-large" in _refused(path)


def test_an_entry_that_would_make_the_file_too_large_is_refused(path: Path) -> None:
    with path.open("ab") as stream:
        stream.write(b"#" * (MAX_BYTES - len(path.read_bytes()) - 20))
    assert "case-cannot-grow" in _refused(path)
    assert len(load(path).entries) == 1


def test_a_pipe_does_not_keep_us_waiting(tmp_path: Path) -> None:
    pipe = tmp_path / "case.yaml"
    os.mkfifo(pipe)
    with pytest.raises(ProblemsFound, match="not-a-file"):
        append(pipe, [SEEN], knowledge="k1")


HAND_MADE = """# my own remark
diag_case: true
vehicle: 'the ''old'' van'
format: 1
entries:
- {entry: 1, opened: {turbo: yes}, time: 2024-05-31T16:20:07Z, knowledge: k0}
# a gap in the numbers: somebody took an entry out
- entry: 4
  time: 2024-05-31T16:20:07Z
  knowledge: k0
  finding: heater_cold
  state: yes
  when: warm
  note: |
    two
    lines"""


@pytest.mark.parametrize("end", ["", "\n", "\n\n\n", "\n# a last remark", "\n  # a last remark\n"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_a_file_that_a_person_mended_goes_on(tmp_path: Path, end: str, line_end: str, mark: bytes) -> None:
    file = tmp_path / "case.yaml"
    before = mark + (HAND_MADE + end).replace("\n", line_end).encode()
    file.write_bytes(before)
    told = load(file)
    assert told.vehicle == "the 'old' van"
    assert told.entries[1] == FindingEntry(
        finding="heater_cold", state="yes", when=("warm",), note="two\nlines\n"
    ).stamped(4, "2024-05-31T16:20:07Z", "k0")
    case = append(file, [SEEN], knowledge="k1", now=NOW)
    assert file.read_bytes().startswith(before)
    assert case.entries == (*told.entries, SEEN.stamped(5, "2024-05-31T16:20:07Z", "k1"))
    assert load(file) == case


def test_a_missing_last_line_end_is_added(path: Path) -> None:
    before = path.read_bytes().rstrip(b"\n")
    path.write_bytes(before)
    assert append(path, [SEEN], knowledge="k1").last_number == 2
    assert path.read_bytes().startswith(before + b"\n  - entry: 2\n")


@pytest.mark.parametrize(
    "content",
    [
        HEAD.replace("entries:\n", "")
        + "entries: [{entry: 1, opened: {}, time: 2024-05-31T16:20:07Z, knowledge: k}]\n",
        "diag_case: true\nformat: 1\nentries:\n" + FIRST + "vehicle: x\n",
    ],
    ids=["entries in brackets", "entries not last"],
)
def test_a_shape_that_cannot_grow_is_read_but_not_written(tmp_path: Path, content: str) -> None:
    file = tmp_path / "case.yaml"
    file.write_text(content, encoding="utf-8")
    assert load(file).last_number == 1
    assert "case-shape" in _refused(file)


def test_an_ended_document_is_not_written_behind_its_end(path: Path) -> None:
    with path.open("a", encoding="utf-8") as stream:
        stream.write("...\n")
    assert "case-cannot-grow" in _refused(path)


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        (UndoEntry(undo=7), "there is no entry 7 before this one"),
        (UndoEntry(undo=1), "entry 1 opens the case"),
        (UndoEntry(undo=2), "entry 2 is out of force already"),
        (UndoEntry(undo=4), "there is no entry 4 before this one"),
        (FindingEntry(finding="a", state="b", instead=1), "entry 1 opens the case"),
        (FindingEntry(finding="a", state="b", instead=3), "entry 3 is an undo"),
    ],
)
def test_what_cannot_be_taken_back_or_corrected_is_refused(path: Path, entry: Entry, why: str) -> None:
    append(path, [SEEN, UndoEntry(undo=2)], knowledge="k1")
    before = path.read_bytes()
    with pytest.raises(ProblemsFound, match=why):
        append(path, [entry], knowledge="k1")
    assert path.read_bytes() == before


def test_a_finding_without_state_and_reading_is_refused(path: Path) -> None:
    before = path.read_bytes()
    with pytest.raises(ProblemsFound, match="neither a state nor a reading"):
        append(path, [FindingEntry(finding="a")], knowledge="k1")
    assert path.read_bytes() == before


def test_a_lock_held_elsewhere_is_told(path: Path) -> None:
    with FileLock(f"{path}.lock"):
        assert "case-locked" in _refused(path, timeout=0.05)
    assert append(path, [SEEN], knowledge="k1", timeout=0.05).last_number == 2


def test_a_change_by_an_editor_meanwhile_is_not_lost(path: Path) -> None:
    def make(_: object) -> list[Entry]:
        with path.open("a", encoding="utf-8") as stream:
            stream.write("# saved by an editor\n")
        return [SEEN]

    with pytest.raises(ProblemsFound, match="case-changed"):
        extend(path, make, knowledge="k1")
    assert path.read_text(encoding="utf-8").endswith("# saved by an editor\n")
    assert load(path).last_number == 1


def test_entries_may_depend_on_the_case_under_the_lock(path: Path) -> None:
    append(path, [SEEN], knowledge="k1")
    case = extend(path, lambda told: [UndoEntry(undo=told.last_number)], knowledge="k1")
    assert case.entries[-1] == UndoEntry(undo=2).stamped(3, case.entries[-1].time, "k1")


def test_nothing_to_add_writes_nothing(path: Path) -> None:
    before = path.stat()
    assert append(path, [], knowledge="k1").last_number == 1
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_permissions_are_kept(path: Path, mode: int) -> None:
    path.chmod(mode)
    append(path, [SEEN], knowledge="k1")
    assert stat.S_IMODE(path.stat().st_mode) == mode


def test_a_symbolic_link_stays_one(path: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.yaml"
    link.symlink_to(path)
    append(link, [SEEN], knowledge="k1")
    assert link.is_symlink()
    assert load(path).last_number == 2
    with FileLock(f"{path}.lock"), pytest.raises(ProblemsFound, match="case-locked"):
        append(link, [SEEN], knowledge="k1", timeout=0.05)


def test_the_scrap_of_a_killed_writer_is_cleared_away(path: Path) -> None:
    scrap = path.with_name(".case.yaml.new")
    scrap.write_text("half an en", encoding="utf-8")
    append(path, [SEEN], knowledge="k1")
    assert not scrap.exists()
    assert load(path).last_number == 2


def test_a_full_disk_changes_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "No space left on device" in _refused(path)


def test_a_write_protected_file_is_left_alone(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)  # the administrator, who may run this, may write anyway
    assert "the file is write-protected" in _refused(path)
