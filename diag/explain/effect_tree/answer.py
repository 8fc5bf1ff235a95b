"""What a case (or the base alone) says about an effect and all that can bring it about. Exact, by propagation.

A cut set of a noisy tree is a smallest set of causes that can bring the effect about with nothing else there, its
links allowed to fire or not. Its probability is that all of them are there and the effect with them; where nothing is
noisy that is the product of the textbook. All numbers are mixed over what brought the vehicle in, one cause or nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.explain.effect_tree.noisy import noisy_tree, without_noise
from diag.explain.effect_tree.split import split_links
from diag.explain.fault_tree.analysis import Importance
from diag.explain.fault_tree.compile import compile_tree
from diag.explain.fault_tree.cut_sets import Family, minimal_cut_sets
from diag.explain.fault_tree.diagram import TreeTooLarge
from diag.knowledge.types import Knowledge
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.inference import Inference
from diag.network.observations import Observations

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
class EffectTree:
    """An effect at a degree or worse, before anything was recorded and now.

    now and before are of the same vehicle, in a knowledge base with every link an effect of its own; ``given`` says
    whether anything was recorded, else both are the same.
    """

    effect: str
    degree: int
    now: Diagnosis
    before: Diagnosis
    given: bool

    @cached_property
    def probability(self) -> float:
        """P(effect | e)."""
        return self._at_least(self.now)

    @cached_property
    def prior(self) -> float:
        """P(effect)."""
        return self._at_least(self.before)

    @cached_property
    def with_effect(self) -> Diagnosis | None:
        """The same vehicle with the effect known to be there; None where it cannot be."""
        return self._known(self.now, self.probability)

    @cached_property
    def background(self) -> float:
        """P(effect, and none of the causes is there | e)."""
        none = dict.fromkeys(self.now.case.causes, NO)
        return float(self.now.chances([{**none, self.effect: self._there}])[0])

    @cached_property
    def cut_sets(self) -> tuple[CauseSet, ...]:
        """All minimal cut sets (the likeliest of them where there are very many), the most probable first."""
        sets = self._sets
        now, before = (
            d.chances([self._all_of(s, self._there) for s in sets]).tolist() for d in (self.now, self.before)
        )
        found = [CauseSet(*one) for one in zip(sets, now, before, self._alone(sets), strict=True)]
        possible = [one for one in found if one.alone > 0]
        return tuple(sorted(possible, key=lambda one: (-one.probability, one.causes)))

    @cached_property
    def left_out(self) -> int:
        """How many cut sets are not among them."""
        return self._family.listed(CANDIDATES).left_out if self._family else 0

    @cached_property
    def cannot(self) -> tuple[str, ...]:
        """What could not be worked out, in sentences."""
        return () if self._family else ("The cut sets could not be worked out: this tree is too large for it.",)

    @cached_property
    def importance(self) -> tuple[Importance, ...]:
        """Every cause above the effect, the most critical first; from P(effect | cause there or not, e)."""
        if self.with_effect is None:
            return ()
        there, given = self.now.faults(), self.with_effect.faults()
        causes = [c for c in self.now.case.causes if c in self.above]
        found = [self._importance(cause, there[cause], given[cause]) for cause in causes]
        return tuple(sorted(found, key=lambda one: (-(one.criticality or 0.0), one.cause)))

    @cached_property
    def above(self) -> frozenset[str]:
        """The effect and every node that it hangs on."""
        return self.now.case.faults.ancestors([self.effect])

    @property
    def knowledge(self) -> Knowledge:
        """The knowledge base, links split."""
        return self.now.case.knowledge

    def at_least(self, diagnosis: Diagnosis, id: str, degree: int) -> float:
        """P(at least this degree) of a cause, effect or link."""
        chances = diagnosis.faults().get(id)
        return float((diagnosis.effects()[id] if chances is None else chances)[degree:].sum())

    def _at_least(self, diagnosis: Diagnosis) -> float:
        return self.at_least(diagnosis, self.effect, self.degree)

    @cached_property
    def _there(self) -> Array:
        states = len(self.knowledge.effects[self.effect].states)
        return np.array([float(state >= self.degree) for state in range(states)])

    def _known(self, diagnosis: Diagnosis, chance: float) -> Diagnosis | None:
        if not chance > 0:
            return None
        return Diagnosis(replace(diagnosis.case, likelihood=self._with_effect(diagnosis.case.likelihood)))

    def _with_effect(self, likelihood: Mapping[str, Array]) -> dict[str, Array]:
        return {**likelihood, self.effect: likelihood.get(self.effect, 1.0) * self._there}

    @cached_property
    def _family(self) -> Family | None:
        """The cut sets over the causes alone, as a diagram."""
        case = self.now.case
        tree = noisy_tree(case, self.effect, self.degree)
        chances = {cause: float(p[1]) for cause, p in self.now.faults().items()}
        try:
            function = compile_tree(tree, fixed=without_noise(tree, case.causes))
            return minimal_cut_sets(function, [chances.get(id, 1.0) for id in function.order])
        except TreeTooLarge:
            return None

    @cached_property
    def _sets(self) -> list[tuple[str, ...]]:
        """The candidates; the empty one (nothing needed at all) is no set of causes."""
        found = self._family.listed(CANDIDATES).likeliest if self._family else ()
        return [tuple(sorted(one.events)) for one in found if one.events]

    def _all_of(self, causes: Sequence[str], there: Array) -> dict[str, Array]:
        return {**dict.fromkeys(causes, YES), self.effect: there}

    def _alone(self, sets: Sequence[tuple[str, ...]]) -> list[float]:
        """P(effect | exactly these causes, no background) of each set."""
        if not sets:
            return []
        case = self.now.case
        sound = {id: replace(effect, leak={}) for id, effect in self.knowledge.effects.items()}
        bare = compile_case(replace(self.knowledge, effects=sound), case.observations)
        none = dict.fromkeys((c for c in case.causes if c in self.above), NO)
        columns = [{**none, **dict.fromkeys(causes, YES)} for causes in sets]
        total, weights = Inference(bare.faults, {}).run_columns([self.effect], columns)
        return [float(weights[0][self.degree :, i].sum() / total[i]) for i in range(len(sets))]

    def _importance(self, cause: str, there: Array, given: Array) -> Importance:
        """there: P(cause no, yes | e); given: the same with the effect known."""
        q = self.probability
        with_it = float(given[1] * q / there[1]) if there[1] > 0 else None
        without = float(given[0] * q / there[0]) if there[0] > 0 else None
        gap = with_it - without if with_it is not None and without is not None else None
        return Importance(
            cause=cause,
            birnbaum=gap,
            criticality=None if gap is None else float(gap * there[1] / q),
            fussell_vesely=self._fussell_vesely(cause, float(given[1])),
            raw=None if with_it is None else with_it / q,
            rrw=None if not without else q / without,
            given_top=float(given[1]),
        )

    def _fussell_vesely(self, cause: str, given: float) -> float | None:
        """P(all of some cut set with this cause are there | effect, e)."""
        if self._family is None or cause not in self._family.function.order:
            return None if self._family is None else 0.0
        ways = self._family.ways_with(self._family.function.order.index(cause), CANDIDATES)
        if ways is None:
            return None
        if ways == [{}]:
            return given
        columns = [
            {cause: YES, **{other: YES if there else NO for other, there in way.items()}, self.effect: self._there}
            for way in ways
        ]
        return float(self.now.chances(columns).sum() / self.probability)


def effect_tree(knowledge: Knowledge, observations: Observations, effect: str, degree: int = 1) -> EffectTree:
    """The tree of one effect of the base in this case: fittings count in both, findings and the past in "now" alone.

    observations: of the first stage, before any repair.
    """
    vehicle = replace(observations, looks=(), history=(), readings=(), checks={}, gone=frozenset(), earlier=())
    faults = compile_case(knowledge, vehicle).faults
    above = [id for id in faults if id in faults.ancestors([effect])]
    effects, causes = ([id for id in above if id in entries] for entries in (knowledge.effects, knowledge.causes))
    split = split_links(knowledge, effects, causes)
    before = Diagnosis(compile_case(split, vehicle))
    given = bool(observations.looks or observations.history or observations.readings or observations.earlier)
    now = Diagnosis(compile_case(split, observations)) if given else before
    return EffectTree(effect, degree, now, before, given)
