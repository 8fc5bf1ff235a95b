"""Minimal cut sets of an effect over its causes alone.

A cut set of a noisy tree is a smallest set of causes that can bring the effect about with nothing else there, its
links allowed to fire or not. Its probability is that all of them are there and the effect with them; where nothing is
noisy that is the product of the textbook.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.explain.effect_tree.noisy import noisy_tree, without_noise
from diag.explain.fault_tree.compile import compile_tree
from diag.explain.fault_tree.cut_sets import Family, minimal_cut_sets
from diag.explain.fault_tree.diagram import TreeTooLarge
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.inference import Inference

Array = npt.NDArray[np.float64]

NO, YES = np.array([1.0, 0.0]), np.array([0.0, 1.0])
CANDIDATES = 400  # cut sets whose probability is worked out


@dataclass(frozen=True)
class CauseSet:
    """A smallest set of causes that can bring the effect about.

    probability: P(all of them are there, and the effect). prior: the same before anything was recorded. alone:
    P(effect | exactly these are there, and no background).
    """

    causes: tuple[str, ...]
    probability: float
    prior: float
    alone: float


@dataclass(frozen=True, eq=False)
class Sufficient:
    """What suffices for an effect at a degree or worse, in a vehicle now and before anything was recorded."""

    effect: str
    degree: int
    now: Diagnosis
    before: Diagnosis

    @cached_property
    def there(self) -> Array:
        """1 for the states that count as the effect, 0 for the others."""
        states = len(self.now.case.knowledge.effects[self.effect].states)
        return (np.arange(states) >= self.degree).astype(float)

    @cached_property
    def background(self) -> float:
        """P(effect, and none of the causes is there | e)."""
        none = dict.fromkeys(self.now.case.causes, NO)
        return float(self.now.chances([{**none, self.effect: self.there}])[0])

    @cached_property
    def cut_sets(self) -> tuple[CauseSet, ...]:
        """All minimal cut sets (the likeliest of them where there are very many), the most probable first."""
        found = self.family.listed(CANDIDATES).likeliest if self.family else ()
        sets = [tuple(sorted(one.events)) for one in found if one.events]  # the empty one: no cause is needed at all
        columns = [{**dict.fromkeys(causes, YES), self.effect: self.there} for causes in sets]
        now, before = (diagnosis.chances(columns).tolist() for diagnosis in (self.now, self.before))
        told = [CauseSet(*one) for one in zip(sets, now, before, self._alone(sets), strict=True)]
        return tuple(sorted((one for one in told if one.alone > 0), key=lambda one: (-one.probability, one.causes)))

    @cached_property
    def left_out(self) -> int:
        """How many cut sets are not among them."""
        return self.family.listed(CANDIDATES).left_out if self.family else 0

    @cached_property
    def family(self) -> Family | None:
        """All cut sets as a diagram; None where that is too large."""
        case = self.now.case
        tree = noisy_tree(case, self.effect, self.degree)
        chances = {cause: float(p[1]) for cause, p in self.now.faults().items()}
        try:
            function = compile_tree(tree, fixed=without_noise(tree, case.causes))
            return minimal_cut_sets(function, [chances.get(id, 1.0) for id in function.order])
        except TreeTooLarge:
            return None

    @cached_property
    def in_full_with(self) -> dict[str, float]:
        """P(all of some cut set with this cause are there, and the effect | e), of the causes it could be said of."""
        ways = {cause: self._ways(cause) for cause in self.now.case.causes}
        columns = [column for found in ways.values() if found for column in found]
        chances = iter(self.now.chances(columns).tolist())
        return {cause: sum(next(chances) for _ in found) for cause, found in ways.items() if found is not None}

    def _ways(self, cause: str) -> list[dict[str, Array]] | None:
        """Statements that exclude each other, one of which holds where a cut set with the cause and the effect do."""
        if self.family is None:
            return None
        order = self.family.function.order
        ways = self.family.ways_with(order.index(cause), CANDIDATES) if cause in order else []
        if ways is None:
            return None
        beside = ({other: YES if is_there else NO for other, is_there in way.items()} for way in ways)
        return [{cause: YES, **others, self.effect: self.there} for others in beside]

    def _alone(self, sets: Sequence[tuple[str, ...]]) -> list[float]:
        """P(effect | exactly these causes, no background) of each set."""
        if not sets:
            return []
        case = self.now.case
        sound = {id: replace(effect, leak={}) for id, effect in case.knowledge.effects.items()}
        bare = compile_case(replace(case.knowledge, effects=sound), case.observations).faults
        none = dict.fromkeys((c for c in case.causes if c in bare.ancestors([self.effect])), NO)
        columns = [{**none, **dict.fromkeys(causes, YES)} for causes in sets]
        total, weights = Inference(bare, {}).run_columns([self.effect], columns)
        return [float(weights[0][self.degree :, i].sum() / total[i]) for i in range(len(sets))]
