"""How far the field scores hang on judgement: all judgement numbers shaken within their ranges, many times.

Run: python tests/benchmarks/shaken.py (minutes). Prints the quartiles of the hits at intake, closed circuits of grades
A and B.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from field.test_field_scores import judged

from diag.learn import evaluate
from diag.learn.scores import HITS
from diag.learn.shaken import shaken
from diag.session import load_knowledge

DRAWS, SEED = 200, 20


def main() -> None:
    """Print the table."""
    knowledge, cases = load_knowledge(), judged()
    random = np.random.default_rng(SEED)
    plain = evaluate(knowledge, cases, ("ours",), ("intake",))[0].scores["ours"]["intake"]
    bases = (shaken(knowledge, random) for _ in range(DRAWS))
    drawn = [evaluate(base, cases, ("ours",), ("intake",))[0].scores["ours"]["intake"] for base in bases]
    for name in (*HITS, "family_first", "log_loss"):
        low, middle, high = np.percentile([getattr(score, name) for score in drawn], [25, 50, 75])
        print(
            f"{name}: {getattr(plain, name):.2f} unshaken; quartiles {low:.2f}, {middle:.2f}, {high:.2f} of {plain.n}"
        )


if __name__ == "__main__":
    main()
