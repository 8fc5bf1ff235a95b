"""What the README shows is what the program does."""

import contextlib
import io

from docs.readme import README, python_examples, with_fresh_outputs

TEXT = README.read_text(encoding="utf-8")


def test_blocks_and_command_list_are_fresh():
    assert with_fresh_outputs(TEXT) == TEXT, "run: python tests/docs/readme.py"


def test_python_example_prints_what_it_says():
    examples = python_examples(TEXT)
    assert examples
    for code, printed in examples:
        said = io.StringIO()
        with contextlib.redirect_stdout(said):
            exec(compile(code, "README.md", "exec"), {})
        assert said.getvalue() == printed
