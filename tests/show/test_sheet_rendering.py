"""The sheet in a real browser, at the width of a telephone and of A4 paper."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from show.sheets import closed, half_way, page

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here to look at the sheet with")

PHONE = 390  # CSS pixels, a common telephone held upright
A4 = 687  # 210 mm less two margins of 14 mm, at 96 pixels an inch (CSS: 1 in = 96 px = 25.4 mm)

# Names what sticks out to the side, and the smallest text; only in the copy that is measured.
MEASURE = """<script>
const read = "p, li, td, dd, h1, h2, h3";
const wide = document.documentElement.clientWidth;
const out = [...document.body.querySelectorAll("*")].filter(e => e.getBoundingClientRect().right > wide + 0.5);
const size = [...document.body.querySelectorAll(read)].map(e => parseFloat(getComputedStyle(e).fontSize));
const picture = document.querySelector("figure svg");
const scale = picture ? picture.getBoundingClientRect().width / picture.viewBox.baseVal.width : 1;
const told = {width: wide, out: out.map(e => e.tagName), least: Math.min(...size), scale: scale};
parent.postMessage(JSON.stringify(told), "*");
</script></body>"""
# A window cannot be as narrow as a telephone, a frame can.
FRAME = """<!DOCTYPE html><title>-</title><script>onmessage = told => { document.title = told.data; };</script>
<iframe src="sheet.html" width="%d" height="2000" style="border: 0"></iframe>"""


def browse(folder: Path, *arguments: str) -> str:
    sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    profile = f"--user-data-dir={folder / 'profile'}"
    command = [str(CHROMIUM), "--headless", "--disable-gpu", "--hide-scrollbars", profile, *sandbox, *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=True).stdout


@pytest.mark.parametrize("stand", [half_way, closed])
@pytest.mark.parametrize("width", [PHONE, A4])
def test_nothing_sticks_out_and_all_can_be_read(tmp_path, stand, width):
    text = re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", page(stand("hairline_tank")))
    (tmp_path / "sheet.html").write_text(text.replace("</body>", MEASURE), encoding="utf-8")
    frame = tmp_path / "frame.html"
    frame.write_text(FRAME % width, encoding="utf-8")
    shown = browse(tmp_path, "--window-size=900,2000", "--virtual-time-budget=2000", "--dump-dom", frame.as_uri())
    found = json.loads(re.search(r"<title>(\{.*?\})</title>", shown)[1].replace("&quot;", '"'))
    assert found["width"] == width
    assert found["out"] == []
    assert found["least"] >= 12
    assert found["scale"] * 12 >= 11  # the words in the picture


def test_it_prints_on_a4(tmp_path):
    """ISO 216: A4 is 210 mm by 297 mm, 595 by 842 points."""
    file, paper = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    file.write_text(page(closed("hairline_tank")), encoding="utf-8")
    browse(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={paper}", file.as_uri())
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", paper.read_bytes())
    assert boxes
    assert all(abs(float(w) - 595) < 2 and abs(float(h) - 842) < 2 for w, h in boxes)
