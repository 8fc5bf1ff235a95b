"""What the shell offers at the tabulator key, asked as bash and zsh ask."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

PROGRAM = [sys.executable, "-c", "import sys; sys.argv[0] = 'diag'; from diag.cli.main import main; main()"]


@pytest.fixture
def offered(folder, tiny_base):
    """The candidates for the last of the words typed."""

    def offered(*words: str, shell: str = "bash", base: str = str(tiny_base)) -> list[str]:
        typed = ["diag", "--knowledge", base, *words]
        asked = {
            "COMP_WORDS": " ".join(typed),
            "COMP_CWORD": str(len(typed) - 1),
            "_DIAG_COMPLETE": f"complete_{shell}",
        }
        if shell == "zsh":
            asked = {"_TYPER_COMPLETE_ARGS": " ".join(typed), "_DIAG_COMPLETE": "complete_zsh"}
        ran = subprocess.run(PROGRAM, env={**os.environ, **asked}, capture_output=True, text=True, cwd=folder)
        assert ran.stderr == ""
        return ran.stdout.split() if shell == "bash" else [ran.stdout]

    return offered


def test_commands(offered):
    assert offered("rec") == ["record"]


def test_findings_with_their_states(offered):
    assert offered("record", "x.yaml", "gau") == ["gauge=normal", "gauge=low", "gauge=high", "gauge=gone"]


def test_the_state_alone_where_the_shell_parts_the_word_at_the_equals_sign(offered):
    assert offered("record", "x.yaml", "gauge", "=", "h") == ["high"]


def test_states_as_one_word_where_it_does_not(offered):
    (told,) = offered("record", "x.yaml", "gauge=h", shell="zsh")
    assert "gauge=high" in told and "gauge=low" not in told


def test_case_files_first_then_causes(offered, folder):
    (folder / "pickup.yaml").write_text("", encoding="utf-8")
    assert offered("why", "p") == ["pickup.yaml", "pump_worn"]
    assert offered("why", "pickup.yaml", "p") == ["pump_worn"]
    assert offered("status", "p") == ["pickup.yaml"]


def test_all_kinds_where_any_id_will_do(offered):
    assert offered("show", "pump_") == ["pump_worn", "pump_noisy", "pump_old"]


def test_settings_codes_and_worked_cases(offered):
    assert offered("settings", "x.yaml", "ho") == ["hour="]
    assert "missing-grade" in offered("validate", "--explain", "missing-g")
    assert offered("demo", "blown") == ["blown_fan_fuse"]


def test_a_base_that_is_wrong_offers_nothing(offered, folder):
    assert offered("show", "pump_", base=str(folder / "nowhere")) == []
