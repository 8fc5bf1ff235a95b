"""What the knowledge base says, as frozen data. Nothing here computes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from diag.text import Mark

Grade = Literal["published", "computed", "common_practice", "from_memory", "judgement"]
GRADES: tuple[str, ...] = get_args(Grade)
GRADES_WITH_REFERENCE: tuple[str, ...] = ("published", "computed")

GateKind = Literal["or", "and", "k_of_n"]
Shape = Literal["normal", "lognormal", "uniform"]
Form = Literal["value", "difference", "drop", "rise", "mix", "cylinders"]
Unit = Literal["bar", "kPa", "mm", "K", "A", "V", "ohm", "%", "L/min"]
Side = Literal["none", "high", "low"]


@dataclass(frozen=True, slots=True)
class Number:
    """One number with what is known about it. ``low`` and ``high`` bound a judgement."""

    value: float
    grade: Grade
    mark: Mark
    low: float | None = None
    high: float | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """What a parent alone, the leak left out, does to a child (Díez 1993, the "net" reading).

    ``strengths[parent_state][child_state]`` is the probability of that child state while only this
    parent acts; states that are absent, the ordinary (first) one among them, take what is left.
    """

    child: str
    strengths: Mapping[str, Mapping[str, Number]]
    mark: Mark


@dataclass(frozen=True, slots=True)
class Repair:
    """What puts a cause (or a damage) right: cost, success and what it may bring in."""

    name: str
    minutes: Number
    money: Number
    success: Number
    mark: Mark
    access: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    brings_in: Mapping[str, Number] = field(default_factory=dict)
    destroys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """What every piece of knowledge has: an id, a name for people, its place and its other names."""

    id: str
    name: str
    chapter: str
    mark: Mark
    also_called: tuple[str, ...] = ()
    formerly: tuple[str, ...] = ()
    what: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause(Entry):
    """A root cause. ``weight`` is its share of opened cases (any common scale)."""

    weight: Number
    leads_to: tuple[Link, ...]
    shows: tuple[Link, ...]
    family: str
    proved_by: str = ""
    repair: Repair | None = None
    hazards: tuple[str, ...] = ()
    fitted: tuple[str, ...] = ()
    not_fitted: tuple[str, ...] = ()
    states: tuple[str, ...] = ("no", "yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect(Entry):
    """A mechanism (momentary) or a damage (stays until repaired). The first state is the sound one.

    ``residual`` is the weight of causes of this mechanism that no chapter lists.
    """

    kind: Literal["mechanism", "damage"]
    states: tuple[str, ...]
    gate: GateKind
    leak: Mapping[str, Number]
    leads_to: tuple[Link, ...]
    shows: tuple[Link, ...]
    k: int = 0
    inhibited_by: Mapping[str, Number] = field(default_factory=dict)
    repair: Repair | None = None
    hazards: tuple[str, ...] = ()
    residual: Number | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """How a true value is spread over vehicles in one state: a shape and its figures.

    normal: ``middle`` and ``spread`` (standard deviation); lognormal: ``middle`` (median) and ``factor`` (one standard
    deviation is that factor up or down); uniform: ``least`` and ``greatest``. With these two the others are cut off.
    """

    shape: Shape
    numbers: Mapping[str, Number]
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingModel:
    """How a reading of an instrument tells of a finding's states.

    form: how the text of a reading becomes a figure (see ``diag.measure``); unit: that of all figures here; short: the
    id it may be recorded under. values: by state, how the TRUE value is spread; multiples of ``limit`` if there is one.
    error: of the instrument, the same in all its readings (one standard deviation); scatter: of each single reading;
    both in ``unit``, or as shares of the value where ``relative``. limit_factor: how far (a factor, one standard
    deviation) a vehicle's own limit lies from the generic one. least, greatest: beyond them it is a slip of the pen.
    limit_from: the vehicle's figure that gives the limit. between: where two temperatures of a difference are taken.
    stop: the last mark of the usual gauge. one_sided: the only side that speaks against the first state. said: P(the
    state that a person tells beside the reading is the true one). figures: by name, those of a pattern.
    """

    form: Form
    unit: Unit
    short: str
    values: Mapping[str, Spread]
    error: Number
    scatter: Number
    least: Number
    greatest: Number
    mark: Mark
    relative: bool = False
    limit: Number | None = None
    limit_factor: Number | None = None
    stop: Number | None = None
    one_sided: Side = "none"
    said: Number | None = None
    figures: Mapping[str, Number] = field(default_factory=dict)
    limit_from: str = ""
    between: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Entry):
    """What a person can observe. The first state is the ordinary one, later ones stand out more.

    ``codes`` are the fault codes that it stands for, each with the state that the code means.
    """

    states: tuple[str, ...]
    question: str
    false_alarm: Mapping[str, Number]
    ask: bool
    complaint: bool
    condition: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    reading: ReadingModel | None = None
    codes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryFact(Entry):
    """A fact about the past, hanging on the initiating cause; facts about one event share a group."""

    question: str
    group: str
    base: Number
    factors: Mapping[str, Number]
    states: tuple[str, ...] = ("no", "yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class TestEntry(Entry):
    """An act that reveals one or more findings. ``harm``: what it costs to do it while this effect is there."""

    __test__ = False

    how: tuple[str, ...]
    reveals: tuple[str, ...]
    minutes: Number
    money: Number
    tools: tuple[str, ...]
    access: tuple[str, ...]
    outcomes: Mapping[str, Mapping[str, str]]
    hazards: tuple[str, ...]
    misleads: str = ""
    skill: int = 1
    waiting: Number | None = None
    fitted: tuple[str, ...] = ()
    harm: Mapping[str, Number] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting(Entry):
    """What a vehicle may have; ``share`` is the share of vehicles that have it.

    Where ``refuses`` is not empty a vehicle that has it is outside the scope, for the reason given.
    """

    question: str
    share: Number
    refuses: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessStep(Entry):
    """A state of the vehicle that a person can bring about.

    ``gives``: states that hold once this one does. ``destroys``: findings that nobody can see any more afterwards,
    ``hides``: while it holds, ``brings_back``: findings that can be seen again after it. ``harm``: what it costs to
    bring it about while this effect is there. ``keep``: what to photograph, measure or keep before it.
    """

    minutes: Number
    undo_minutes: Number
    waiting: Number | None = None
    needs: tuple[str, ...] = ()
    conflicts: tuple[str, ...] = ()
    destroys: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    gives: tuple[str, ...] = ()
    hides: tuple[str, ...] = ()
    brings_back: tuple[str, ...] = ()
    harm: Mapping[str, Number] = field(default_factory=dict)
    keep: tuple[str, ...] = ()
    brings_in: Mapping[str, Number] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock(Entry):
    """What must not be done as things stand: access steps and tests, why not, and the way out.

    It holds while one of the findings ``told`` is in one of the states named, while an effect is likelier than its
    number in ``likely``, or while a step of ``during`` holds; not while a finding of ``unless`` is in a state named
    there, nor once a step of ``lifted_by`` was done.
    """

    bars: tuple[str, ...]
    why: str
    way_out: str
    tests: tuple[str, ...] = ()
    told: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    likely: Mapping[str, Number] = field(default_factory=dict)
    during: tuple[str, ...] = ()
    unless: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lifted_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Entry):
    """A part that is renewed as one: whoever renews it is rid of all its faults, named or not.

    ``faults`` are causes and damage; ``renewed_by`` those among them (or beside them) whose repair renews it.
    """

    faults: tuple[str, ...]
    renewed_by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble(Entry):
    """What the owner fears to see again after a repair: any of these effects in any state but its first."""

    effects: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StartGate(Entry):
    """One gate of the first start after a repair.

    ``place`` is its place in the order. ``passes`` are findings with the states in which one may go on; any other
    state stops the start there. ``how`` says what to do and look at, with the limits. Where the engine does not run
    yet (``running``) what was seen before the repair holds until it is looked at again.
    """

    place: int
    how: tuple[str, ...]
    stop_at: str
    passes: Mapping[str, tuple[str, ...]]
    hazards: tuple[str, ...]
    running: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard(Entry):
    """A way to get hurt and the caution that belongs beside every act that has it."""

    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference(Entry):
    """A published source of numbers: what it is and where in it."""

    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelNumber(Entry):
    """A number of the model itself, not of a part of the vehicle."""

    value: Number


@dataclass(frozen=True, slots=True)
class Told:
    """One answer of an invented case: the state of a finding or history fact, or whether a fitting is there."""

    id: str
    state: str
    mark: Mark
    state_mark: Mark


@dataclass(frozen=True, slots=True)
class Twin:
    """Two invented cases of a cause, kept to try the base by, never to answer from.

    In ``first`` the cause ``id`` must come first, by signs that are not its own alone. In ``not_first``, which looks
    alike, ``instead`` must. A cause that ``twin_of`` outweighs by nature has no ``first``; ``why`` says so in a
    sentence. ``marks`` are the places of ``instead`` and ``twin_of``.
    """

    id: str
    mark: Mark
    first: tuple[Told, ...]
    not_first: tuple[Told, ...]
    instead: str
    twin_of: str = ""
    why: str = ""
    marks: Mapping[str, Mark] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Provenance:
    """What one overlay did to one entry; ``field`` with what stood there before and after, where it changed one."""

    kind: Literal["added", "changed", "removed"]
    overlay: str
    mark: Mark
    field: str = ""
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class Knowledge:
    """A whole knowledge base. Every mapping is in the order of the ids; ``provenance`` tells what overlays did."""

    version: str
    causes: Mapping[str, Cause]
    effects: Mapping[str, Effect]
    findings: Mapping[str, Finding]
    tests: Mapping[str, TestEntry]
    history: Mapping[str, HistoryFact]
    fittings: Mapping[str, Fitting]
    access: Mapping[str, AccessStep]
    hazards: Mapping[str, Hazard]
    references: Mapping[str, Reference]
    model: Mapping[str, ModelNumber]
    parts: Mapping[str, Part] = field(default_factory=dict)
    troubles: Mapping[str, Trouble] = field(default_factory=dict)
    gates: Mapping[str, StartGate] = field(default_factory=dict)
    twins: Mapping[str, Twin] = field(default_factory=dict)
    provenance: Mapping[str, tuple[Provenance, ...]] = field(default_factory=dict)
    locks: Mapping[str, Lock] = field(default_factory=dict)
