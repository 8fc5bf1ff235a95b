"""What a case (or the base alone) says about an effect and all that can bring it about. Exact, by propagation.

All numbers are mixed over what brought the vehicle in, one cause or nothing; the knowledge base has every link above
the effect as an effect of its own, so that a link too has a probability to have fired.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.explain.effect_tree.split import split_links
from diag.explain.effect_tree.sufficient import Sufficient
from diag.explain.fault_tree.analysis import Importance
from diag.knowledge.types import Knowledge
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Observations

Array = npt.NDArray[np.float64]


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
        return self.at_least(self.now, self.effect, self.degree)

    @cached_property
    def prior(self) -> float:
        """P(effect)."""
        return self.at_least(self.before, self.effect, self.degree)

    @cached_property
    def sufficient(self) -> Sufficient:
        """What suffices to bring it about."""
        return Sufficient(self.effect, self.degree, self.now, self.before)

    @cached_property
    def with_effect(self) -> Diagnosis | None:
        """The same vehicle with the effect known to be there; None where it cannot be."""
        if not self.probability > 0:
            return None
        told = self.now.case.likelihood
        known = {**told, self.effect: told.get(self.effect, 1.0) * self.sufficient.there}
        return Diagnosis(replace(self.now.case, likelihood=known))

    @cached_property
    def cannot(self) -> tuple[str, ...]:
        """What could not be worked out, in sentences."""
        too_large = "The cut sets could not be worked out: this tree is too large for it."
        return () if self.sufficient.family else (too_large,)

    @cached_property
    def importance(self) -> tuple[Importance, ...]:
        """Every cause above the effect, the most critical first; from P(effect | cause there or not, e)."""
        if self.with_effect is None:
            return ()
        there, given = self.now.faults(), self.with_effect.faults()
        causes = [cause for cause in self.now.case.causes if cause in self.above]
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

    def _importance(self, cause: str, there: Array, given: Array) -> Importance:
        """there: P(cause no, yes | e); given: the same with the effect known."""
        q = self.probability
        with_it = float(given[1] * q / there[1]) if there[1] > 0 else None
        without = float(given[0] * q / there[0]) if there[0] > 0 else None
        gap = with_it - without if with_it is not None and without is not None else None
        in_full = self.sufficient.in_full_with.get(cause)
        return Importance(
            cause=cause,
            birnbaum=gap,
            criticality=None if gap is None else float(gap * there[1] / q),
            fussell_vesely=None if in_full is None else in_full / q,
            raw=None if with_it is None else with_it / q,
            rrw=None if not without else q / without,
            given_top=float(given[1]),
        )


def effect_tree(knowledge: Knowledge, observations: Observations, effect: str, degree: int = 1) -> EffectTree:
    """The tree of one effect of the base in this case: fittings count in both, findings and the past in "now" alone.

    observations: of the first stage, before any repair.
    """
    vehicle = replace(observations, looks=(), history=(), checks={}, gone=frozenset(), earlier=())
    faults = compile_case(knowledge, vehicle).faults
    above = [id for id in faults if id in faults.ancestors([effect])]
    effects, causes = ([id for id in above if id in entries] for entries in (knowledge.effects, knowledge.causes))
    split = split_links(knowledge, effects, causes)
    before = Diagnosis(compile_case(split, vehicle))
    given = bool(observations.looks or observations.history or observations.earlier)
    now = Diagnosis(compile_case(split, observations)) if given else before
    return EffectTree(effect, degree, now, before, given)
