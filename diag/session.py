"""A case opened with its knowledge: all that a command or a program asks of it.

Everything is computed when first asked for and kept; a session is of one state of the file. Recording makes a
new entry in the file, and a new session.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory

from diag.case import Case, Entry, RepairEntry, TheoryEntry, as_entries, replay, theories
from diag.case import load as load_case
from diag.case.record import ARGUMENT
from diag.explain import CauseList, impossible_findings, likely_causes
from diag.explain.chain import Chain, best_chains, chain_of
from diag.explain.course import Course, course_of
from diag.explain.decisive import against_the_rest
from diag.explain.effect_tree import EffectTree, effect_tree
from diag.explain.judgement import Draws
from diag.explain.readings import Meant, meant_readings
from diag.explain.second_opinion import second_opinion
from diag.explain.stated import Theory
from diag.explain.theory import Trial, trial
from diag.explain.twins import twins
from diag.explain.weight import leave_each_out
from diag.explain.why import Why, why
from diag.knowledge.chosen import load_knowledge
from diag.knowledge.types import Knowledge
from diag.learn.shaken import shaken
from diag.network.bif import bif, evidence_beside
from diag.network.case_network import TARGET, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.observations import Look, Observations
from diag.network.plan import CliqueTooLarge
from diag.network.structure import structure
from diag.plan import DecidingActs, Ranking, Settings, deciding, rank
from diag.plan.actions import Action, actions
from diag.plan.asking import look_before, rank_about
from diag.plan.last_look import LastLook
from diag.plan.look_ahead import Plan, plan
from diag.plan.ready import Ready, ready
from diag.plan.told import settings_of
from diag.text import Mark, ProblemsFound, html_table, write_text

__all__ = ["Session", "load_knowledge"]


@dataclass(frozen=True, eq=False)
class Session:
    """One case and what it says. ``observations`` are what counts in it."""

    knowledge: Knowledge
    case: Case
    observations: Observations
    settings: Settings = field(default_factory=Settings)

    @staticmethod
    def open(path: Path, knowledge: Knowledge | None = None) -> Session:
        """Open a case file. Raises ProblemsFound where the file or an entry in it is wrong."""
        knowledge = knowledge or load_knowledge()
        return Session.of(load_case(path), knowledge)

    @staticmethod
    def of(case: Case, knowledge: Knowledge) -> Session:
        """A session of a case in memory. Raises ProblemsFound where an entry is wrong."""
        observations, problems = replay(case, knowledge)
        settings, wrong = settings_of(case, knowledge)
        errors = [problem for problem in (*problems, *wrong) if problem.severity == "error"]
        if errors:
            raise ProblemsFound(errors)
        return Session(knowledge, case, observations, settings)

    def __repr__(self) -> str:
        told = len(self.observations.looks) + len(self.observations.history)
        case, version = self.case, self.knowledge.version
        return f"<Session of {case.file!r}: {case.vehicle!r}, {told} answers, knowledge {version}>"

    def _repr_html_(self) -> str:
        if not self.diagnosis.probability_of_evidence > 0:
            return html_table(repr(self), ("nothing known explains all that was recorded",), ())
        return html_table(repr(self), (), ()) + self.causes._repr_html_() + self.ranking._repr_html_()

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """The compiled network with the evidence in it."""
        return Diagnosis(compile_case(self.knowledge, self.observations))

    @cached_property
    def causes(self) -> CauseList:
        """Likely causes. Raises ImpossibleEvidence."""
        return likely_causes(self.diagnosis)

    @cached_property
    def readings(self) -> tuple[Meant, ...]:
        """What the readings of instruments were taken to mean."""
        return meant_readings(self.case, self.knowledge)

    @cached_property
    def ranking(self) -> Ranking:
        """What to ask and test next. Raises ImpossibleEvidence."""
        return rank(self.diagnosis, self.settings)

    def course(self, cause: str) -> Course | None:
        """How it most likely hangs together with ``cause`` behind it; None where that cannot be told."""
        chain = chain_of(self.started, cause, {})
        return course_of(self.started, chain) if chain else None

    @cached_property
    def ready(self) -> Ready:
        """What is open before the first start. Raises ImpossibleEvidence."""
        return ready(self.knowledge, self.observations, self.settings)

    def supposing(self, repairs: Sequence[str], findings: Sequence[str]) -> Session:
        """The case as if this were repaired and then found (ID=STATE); the file stays as it is.

        Raises ProblemsFound where an id or a state is not known.
        """
        supposed: list[Entry] = [RepairEntry(repair=tuple(repairs), mark=Mark(ARGUMENT, 1, 1))] if repairs else []
        told, problems = as_entries(self.case, self.knowledge, findings)
        if any(problem.severity == "error" for problem in problems):
            raise ProblemsFound(problems)
        last = self.case.last_number
        numbered = [entry.stamped(last + n, "", "") for n, entry in enumerate([*supposed, *told], start=1)]
        return Session.of(replace(self.case, entries=(*self.case.entries, *numbered)), self.knowledge)

    @cached_property
    def started(self) -> Diagnosis:
        """The case as it was before the first repair: what a theory of how it all began is judged by."""
        if self.observations.stage == 1:
            return self.diagnosis
        looks = tuple(look for look in self.observations.looks if look.stage == 1)
        return Diagnosis(compile_case(self.knowledge, replace(self.observations, looks=looks, mended=())))

    @cached_property
    def actions(self) -> tuple[Action, ...]:
        """Repairs that may come next, and ending it. Raises ImpossibleEvidence."""
        return actions(self.diagnosis, self.ranking.repairs)

    def ranking_about(self, about: Sequence[str]) -> Ranking:
        """The ranking by what acts tell about other things: causes, effects, findings. Raises ProblemsFound."""
        return rank_about(self.diagnosis, self.settings, about) if about else self.ranking

    def last_look(self, step: str) -> LastLook:
        """What to see and keep before an access step or a repair. Raises ProblemsFound."""
        return look_before(self.diagnosis, self.settings, step)

    def plan(self, depth: int) -> Plan:
        """The plan as a tree, ``depth`` acts deep. Raises ImpossibleEvidence."""
        return plan(self.diagnosis, self.settings, depth)

    @cached_property
    def twins(self) -> tuple[tuple[str, ...], ...]:
        """Groups of likely causes that no open test can part."""
        return twins(self.diagnosis, self.diagnosis.open_outcomes.values())

    @cached_property
    def left_out(self) -> Mapping[str, Diagnosis]:
        """For every finding told: the same case without it."""
        return leave_each_out(self.diagnosis)

    def why(self, cause: str) -> Why:
        """Why a cause is likely or not. Raises KeyError where it is none of this case, ImpossibleEvidence."""
        return why(self.diagnosis, cause, self.left_out)

    def tree(self, effect: str, degree: int = 1) -> EffectTree:
        """The fault tree of an effect, at this degree or worse. Raises KeyError where there is no such effect."""
        return effect_tree(self.knowledge, self.started.case.observations, effect, degree)

    @cached_property
    def theories(self) -> tuple[TheoryEntry, ...]:
        """The theories recorded, in force."""
        return theories(self.case, self.knowledge)

    @cached_property
    def chains(self) -> tuple[Chain, ...]:
        """The most probable course of the whole case, and the next two that really differ."""
        return best_chains(self.started, 3)

    def draws(self, count: int) -> Draws:
        """The case judged from many bases, every judgement moved within its range. Raises ImpossibleEvidence."""
        return Draws(self.diagnosis, shaken, count)

    def started_draws(self, count: int) -> Draws:
        """The same of the case as it was before the first repair, as theories are judged."""
        return Draws(self.started, shaken, count)

    def trial(self, theory: Theory) -> Trial:
        """A theory judged: by all that was found, or, where the stages are too many for that, by what was found before
        the first repair. Raises ImpossibleEvidence."""
        with suppress(CliqueTooLarge):
            return trial(self.diagnosis, theory, self.left_out, self.started)
        return trial(self.started, theory, leave_each_out(self.started))

    def deciding(self, judged: Trial) -> DecidingActs:
        """What would decide whether a theory holds, from where the vehicle stands. Raises ImpossibleEvidence."""
        effects = self.diagnosis.effects()
        return deciding(self.diagnosis.case, self._decisive(judged), self.settings, effects)

    def _decisive(self, judged: Trial) -> Mapping[str, Outcomes]:
        """Outcomes of all acts; where that is too much after a repair, of those one by one that would have told most
        before it."""
        if judged.stages < self.observations.stage:
            return against_the_rest(self.started, judged.theory)
        with suppress(CliqueTooLarge):
            return against_the_rest(self.diagnosis, judged.theory)
        about = against_the_rest(self.started, judged.theory)
        before = deciding(self.started.case, about, self.settings, self.started.effects())
        found: dict[str, Outcomes] = {}
        for likely in (*before.questions, *before.tests):
            with suppress(CliqueTooLarge):
                found |= against_the_rest(self.diagnosis, judged.theory, [likely.act.id])
        return found

    def export(self, out: Path) -> tuple[Path, Path]:
        """Write the network as BIF and the evidence beside it; nothing pruned, evidence not baked in."""
        case = self.diagnosis.case
        beside = out.with_suffix(".evidence.json")
        write_text(out, bif(case.full_network()))
        write_text(beside, json.dumps(evidence_beside(case.full_evidence()), indent=1))
        return out, beside

    def export_structure(self, out: Path) -> Path:
        """Write which node leads to which, as DOT or GraphML by the ending of ``out``."""
        base, full = self.knowledge, self.diagnosis.case.full_network()
        kinds = {"cause": base.causes, "finding": base.findings, "fact": base.history}
        told = {entry.id: (entry.name, kind) for kind, entries in kinds.items() for entry in entries.values()}
        told |= {effect.id: (effect.name, effect.kind) for effect in base.effects.values()}
        told |= {node: (node, "cause") for node in full if node.startswith(UNLISTED)}
        write_text(out, structure(full, {**told, TARGET: ("initiating cause", "target")}, out.suffix))
        return out

    def second_opinion(self) -> dict[str, tuple[float, float]]:
        """Per cause of the list: what this engine says, and what another one says from the exported files alone."""
        with TemporaryDirectory() as folder:
            answer = second_opinion(*self.export(Path(folder) / "case.bif"), TARGET)
        ours = dict(zip(self.diagnosis.case.states, self.diagnosis.initiating.tolist(), strict=True))
        return {state: (ours[state], answer[state]) for state in ours}

    @cached_property
    def contradiction(self) -> tuple[Look, ...]:
        """Looks that exclude each other, none of them to spare; empty where the evidence is possible."""
        return impossible_findings(self.knowledge, self.observations)
