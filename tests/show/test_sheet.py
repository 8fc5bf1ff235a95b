"""The job sheet: everything of the case stands in it, in both forms, and nothing in it is more than text."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from show.sheets import NAMES, Read, closed, half_way, knowledge, more, page, sheet

from diag.case import ConfirmedEntry, FindingEntry, RepairEntry, as_entries, in_force, load
from diag.cli.demo_play import cases_folder, read_play
from diag.session import Session
from diag.show.case import entry_text
from diag.show.names import word
from diag.show.readings import meaning
from diag.show.ready import STANDINGS, VERDICTS
from diag.show.words import NEVER

BOTH = [(stand, name) for stand in (half_way, closed) for name in NAMES]
FORMS = (".html", ".md")


def words_of(text: str, form: str) -> str:
    """What a reader sees, in one line: marks of the form taken away."""
    if form == ".html":
        return Read(text).text
    seen = re.sub(r"\\([\\`*_{}\[\]#|~$.)=+-])", r"\1", text.replace("**", ""))
    for written, character in (("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&")):
        seen = seen.replace(written, character)
    return " ".join(seen.split())


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("stand", "name"), BOTH)
def test_every_answer_of_the_case_stands_in_it(stand, name, form):
    session = stand(name)
    told = words_of(page(session, form), form)
    for entry in session.case.entries:
        if isinstance(entry, FindingEntry):
            known = knowledge().findings.get(entry.finding) or knowledge().history[entry.finding]
            assert one_line(known.name) in told
            assert word(knowledge(), entry.finding, entry.state.removeprefix("unsure:").split(":")[0]) in told
            assert one_line(entry.note) in told
        elif entry in in_force(session.case) and not isinstance(entry, RepairEntry | ConfirmedEntry):
            assert one_line(entry_text(entry, knowledge())) in told
    assert session.case.vehicle in told
    assert session.knowledge.version in told


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("stand", "name"), BOTH)
def test_every_open_cause_and_every_proposed_test_stands_in_it_with_steps_and_cautions(stand, name, form):
    session = stand(name)
    told = words_of(page(session, form), form)
    for cause in session.causes.causes:
        if cause.probability >= NEVER:
            assert one_line(cause.name) in told
    for proposal in session.ranking.tests[: 3 if stand is half_way else 0]:
        test = knowledge().tests[proposal.id]
        for text in (test.name, *test.how, *(knowledge().hazards[h].caution for h in test.hazards)):
            assert one_line(text) in told


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", NAMES)
def test_a_closed_case_shows_its_tests_its_proof_and_the_repair_with_cautions(name, form):
    session = closed(name)
    play = read_play(cases_folder(), name)
    told = words_of(page(session, form), form)
    done = [step.step for step in play.steps if step.step in knowledge().tests]
    told_of = {look.finding for look in session.observations.looks}
    whole = [test for test in done if set(knowledge().tests[test].reveals) <= told_of]
    assert whole
    for test in whole:
        assert one_line(knowledge().tests[test].name) in told
    cause = knowledge().causes[play.confirmed]
    assert cause.repair is not None
    for text in (play.seen, cause.proved_by, cause.repair.name, f"Confirmed cause: {cause.name}."):
        assert one_line(text) in told
    for hazard in cause.repair.hazards:
        assert one_line(knowledge().hazards[hazard].caution) in told


@pytest.mark.parametrize("form", FORMS)
def test_what_is_apart_what_was_repaired_and_what_was_taken_back_stand_in_it(form):
    told = words_of(page(half_way(NAMES[0]), form), form)
    assert knowledge().access["drained"].name in told
    assert f"{knowledge().causes['cap_weak'].name} (usual), 2024-06-01, before this case began; note: new cap" in told
    assert "Corrected or taken back" in told
    assert "wrong vehicle" in told


def test_a_test_is_done_only_when_all_that_it_reveals_is_told():
    session = closed(NAMES[0])
    told = {look.finding for look in session.observations.looks}
    for test in sheet(session).done:
        assert set(knowledge().tests[test.id].reveals) <= told


def test_every_source_that_is_cited_on_the_sheet_is_named_on_it():
    for stand, name in BOTH:
        shown = Read(page(stand(name))).text
        listed = {source.id for source in sheet(stand(name)).sources}
        cited = {word for word in re.findall(r"[a-z0-9_]+", shown) if word in knowledge().references}
        assert cited <= listed


def test_the_page_stands_alone_without_script_or_outside_files():
    for stand, name in BOTH:
        read = Read(page(stand(name)))
        assert {"script", "link", "img", "iframe", "object", "form", "base"}.isdisjoint(tag for tag, _ in read.tags)
        for _, attributes in read.tags:
            assert not any(key.startswith("on") or key in ("src", "href", "action") for key in attributes)
        assert "url(" not in page(stand(name)).replace("url(#tip)", "")
        assert "@import" not in page(stand(name))


def test_headings_titles_and_language_are_told():
    read = Read(page(half_way(NAMES[0])))
    levels = [int(tag[1]) for tag, _ in read.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))
    of = dict(read.tags)
    assert of["html"]["lang"] == "en"
    pictures = [attributes for tag, attributes in read.tags if tag == "svg"]
    assert all(p.get("aria-hidden") == "true" or p.get("role") == "img" for p in pictures)
    labels = [p["aria-labelledby"] for p in pictures if p.get("role") == "img"]
    ids = {attributes["id"] for _, attributes in read.tags if "id" in attributes}
    assert labels and all(set(label.split()) <= ids for label in labels)
    assert all(attributes.get("scope") == "col" for tag, attributes in read.tags if tag == "th")


@pytest.mark.parametrize(("stand", "name"), BOTH)
def test_the_picture_is_told_in_words_too_and_kinds_are_named(stand, name):
    chain = sheet(stand(name)).chain
    assert chain is not None
    assert len(chain.words) == len(chain.arrows) > 0
    assert {box.kind for box in chain.boxes} >= {"cause", "mechanism", "seen"}
    for box in chain.boxes:  # inside the picture, none over another
        assert box.x >= 0 and box.x + box.width <= chain.width and box.y + box.height <= chain.height
        for other in chain.boxes:
            apart_across = box.x + box.width <= other.x or other.x + other.width <= box.x
            apart_down = box.y + box.height <= other.y or other.y + other.height <= box.y
            assert box is other or apart_across or apart_down
        assert max(len(line) for line in box.lines) * 7.2 <= box.width  # letters of 12 units are some 7 wide
    place = {box.id: box for box in chain.boxes}
    for arrow in chain.arrows:  # from one box to the other, past all the rest
        (x, y), (end_x, end_y) = arrow.points[0], arrow.points[-1]
        assert on_edge(place[arrow.parent], x, y) and on_edge(place[arrow.child], end_x, end_y)
        for (ax, ay), (bx, by) in pairwise(arrow.points):
            for box in chain.boxes:
                outside_x = max(ax, bx) <= box.x or min(ax, bx) >= box.x + box.width
                outside_y = max(ay, by) <= box.y or min(ay, by) >= box.y + box.height
                assert outside_x or outside_y


def on_edge(box, x, y):
    across, down = box.x <= x <= box.x + box.width, box.y <= y <= box.y + box.height
    return (down and x in (box.x, box.x + box.width)) or (across and y in (box.y, box.y + box.height))


def contrast(one: str, other: str) -> float:
    """WCAG 2.1, contrast ratio of two colours (relative luminance of sRGB)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        red, green, blue = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_colours_have_contrast():
    """WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1 for text."""
    text = page(half_way(NAMES[0]))
    colour = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", text))
    pairs = [
        ("ink", "paper"),
        ("soft", "paper"),
        ("deep", "paper"),
        ("ink", "tint"),
        ("soft", "tint"),
        ("warn", "paper"),
    ]
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.1: black on white
    assert all(contrast(colour[one], colour[other]) >= 4.5 for one, other in pairs)
    assert contrast(colour["warn"], "#fdf6ee") >= 4.5


HOSTILE = (
    '<script>alert(1)</script> "><img src=x onerror=alert(1)> {{ 7*7 }} {% raw %} &amp; '
    "`code` [a](http://b) # x *y* _z_"
)


@pytest.mark.parametrize("form", FORMS)
def test_hostile_names_and_notes_stay_text(form):
    case = load(read_play(cases_folder(), NAMES[0]).case)
    evil = FindingEntry(
        finding="coolant_level_seen", state="low", note=HOSTILE, by=HOSTILE, with_instrument=HOSTILE, reading=HOSTILE
    )
    case = more(replace(case, vehicle=HOSTILE, file=HOSTILE), evil)
    text = page(Session.of(case, knowledge()), form)
    assert "<script" not in text and "<img" not in text and "onerror=alert(1)>" not in text
    assert words_of(text, form).count(one_line(HOSTILE)) >= 6  # title or head, file, and the four fields
    if form == ".html":
        harmless = {tag for tag, _ in Read(page(half_way(NAMES[0]))).tags}
        assert {tag for tag, _ in Read(text).tags} <= harmless | {"h3"}
    else:
        assert "\\*y\\*" in text and "\\[a\\]" in text and "\\`code\\`" in text


def test_a_name_that_begins_like_a_list_stays_a_name_in_markdown():
    case = load(read_play(cases_folder(), NAMES[0]).case)
    text = page(Session.of(replace(case, vehicle="1. van", file="- x"), knowledge()), ".md")
    assert "# Job sheet: 1\\. van" in text


def test_a_reason_names_answers_that_are_recorded():
    session = half_way("blown_fan_fuse")
    first = sheet(session).suspects[0]
    assert first.reason.startswith("Speaks")
    assert "fan stands still although hot: stands still" in first.reason
    recorded = [e.finding for e in in_force(session.case) if isinstance(e, FindingEntry)]
    assert any(knowledge().findings[f].name in first.reason for f in recorded if f in knowledge().findings)


@pytest.mark.parametrize("form", FORMS)
def test_a_reading_stands_in_it_as_it_was_told_with_what_it_was_taken_to_mean(form):
    case = load(read_play(cases_folder(), NAMES[0]).case)
    entries, problems = as_entries(case, knowledge(), ["compression=8.1 8.0 4.2 4.4 bar"], with_instrument="old gauge")
    assert problems == []
    session = Session.of(more(case, *entries), knowledge())
    told = words_of(page(session, form), form)
    for text in ("8.1 8.0 4.2 4.4 bar", "with old gauge", meaning(knowledge(), session.readings[0])):
        assert one_line(text) in told


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("session", [lambda: closed(NAMES[1]), lambda: half_way(NAMES[2])])
def test_all_that_is_open_before_the_first_start_stands_in_it(session, form):
    """The same as ``diag ready`` says: verdict and reasons, what may come back, open causes with their tests, gates."""
    case = session()
    told = words_of(page(case, form), form)
    answer = case.ready
    assert answer.open_causes and answer.gates
    for text in (VERDICTS[answer.verdict], *answer.why, *(coming.name for coming in answer.effects)):
        assert one_line(text) in told
    for cause in answer.open_causes:
        assert one_line(cause.name) in told
        assert cause.test is None or one_line(cause.test.name) in told
    for now in answer.gates:
        assert f"{one_line(now.name)}: {STANDINGS[now.standing]}" in told


def test_the_gates_say_how_and_when_to_stop_with_cautions_once_the_cause_is_known():
    told = Read(page(closed(NAMES[1]))).text
    for now in closed(NAMES[1]).ready.gates:
        gate = knowledge().gates[now.id]
        if now.standing != "passed":
            for text in (*gate.how, gate.stop_at, *(knowledge().hazards[hazard].caution for hazard in gate.hazards)):
                assert one_line(text) in told
