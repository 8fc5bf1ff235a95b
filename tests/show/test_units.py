"""Imperial figures beside metric ones. Definitions: NIST SP 811 (2008), appendix B.8."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from diag.cli.main import app
from diag.session import Session
from diag.show.next_step import next_page
from diag.show.page import Page
from diag.show.units import with_imperial

# 1 in = 25.4 mm, 1 psi = 6.894757 kPa, 1 US gal = 3.785412 L, 1 ft = 0.3048 m, 1 mi = 1.609344 km,
# 1 lbf ft = 1.355818 Nm, t(F) = 1.8 t(C) + 32
SAID = [
    ("below 50 C now", "below 50 C (122 F) now"),
    ("-20 C", "-20 C (-4 F)"),
    ("falls by 10 K", "falls by 10 K (18 F difference)"),
    ("1 bar", "1 bar (15 psi)"),
    ("0.7 to 1.1 bar", "0.7 to 1.1 bar (10 to 16 psi)"),
    ("100 kPa", "100 kPa (14.5 psi)"),
    ("0.1 mm over the length", "0.1 mm (0.0039 in) over the length"),
    ("10 L", "10 L (2.64 US gal)"),
    ("20 L/min", "20 L/min (5.28 US gal/min)"),
    ("90 km/h", "90 km/h (55.9 mph)"),
    ("100 Nm", "100 Nm (73.76 lbf ft)"),
    ("3 m away", "3 m (9.8 ft) away"),
]


@pytest.mark.parametrize(("metric", "both"), SAID)
def test_the_imperial_figure_stands_behind(metric, both):
    assert with_imperial(metric) == both


OTHERS = ["7 to 20 A", "P0480 Cx", "5 minutes", "step 3 Look", "2 Cylinders", "12 V", "C-clip", "no figure"]


@pytest.mark.parametrize("text", OTHERS)
def test_other_text_is_left_alone(text):
    assert with_imperial(text) == text


def card(session: Session) -> Page:
    return next_page(session, False, session.ranking)


def test_the_setting_shows_both_on_the_screen_and_on_the_sheet(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> tuple[int, str]:
        ran = CliRunner().invoke(app, list(words))
        return ran.exit_code, " ".join(ran.output.split())

    assert run("new", "van.yaml", "--complaint", "coolant_level_drops")[0] == 0
    assert not card(Session.open(Path("van.yaml"))).imperial
    assert run("settings", "van.yaml", "units=imperial")[0] == 0
    assert "units=imperial" in run("settings", "van.yaml")[1]
    page = card(Session.open(Path("van.yaml")))
    page.tell("below 50 C")
    assert page.lines[-1].text == "below 50 C (122 F)"
    assert run("report", "van.yaml", "-o", "sheet.md")[0] == 0
    assert "below 50 C (122 F)" in (tmp_path / "sheet.md").read_text(encoding="utf-8")
    code, told = run("settings", "van.yaml", "units=miles")
    assert code == 1
    assert "units cannot be miles. Write si or imperial." in told
