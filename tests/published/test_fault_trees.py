"""Published fault trees, read from the text form, to the digits that full enumeration gives.

"Recomputed" numbers are from plain enumeration of the joint in Python (and pyAgrum where said), never from this code.
Where the source prints fewer digits, the test says how many.
"""

from math import exp, expm1
from pathlib import Path

import pytest

from diag.explain.fault_tree import Analysis, FaultTree, analyse_tree, read_tree

TREES = Path(__file__).parent / "fault_trees"
EXACT = 1e-12


def tree(name: str, **chances: float) -> FaultTree:
    """A tree of the folder; ``chances`` fill in events whose probability the source gives as a rate."""
    from dataclasses import replace

    found, problems = read_tree(TREES / f"{name}.yaml")
    assert found is not None, problems
    assert chances.keys() <= found.events.keys()
    events = {id: replace(e, probability=chances.get(id, e.probability)) for id, e in found.events.items()}
    return replace(found, events=events)


def by_cause(analysis: Analysis, field: str) -> dict[str, float]:
    return {one.cause: getattr(one, field) for one in analysis.importance}


def sets_of(analysis: Analysis) -> dict[frozenset, float]:
    return {frozenset(found.events): found.probability for found in analysis.cut_sets.likeliest}


# 1. Pressure tank: Fault Tree Handbook, NUREG-0492 (1981), ch. VIII p. VIII-13 ff. Cut sets and shares as printed
# there (from memory), all other digits recomputed.
PRESSURE_TANK = {
    # event: Birnbaum, criticality, Fussell-Vesely, RAW, RRW, P(event | top)
    "T": (0.99997, 0.142788, 0.142792, 28558.5, 1.16657, 0.142792),
    "K2": (0.999995, 0.856751, 0.856755, 28558.5, 6.98083, 0.856755),
    "S": (1.59988e-4, 4.56900e-4, 4.56916e-4, 5.56855, 1.00046, 5.56855e-4),
    "K1": (9.99835e-5, 8.56614e-5, 8.56755e-5, 3.85529, 1.00009, 1.15659e-4),
    "R": (9.99905e-5, 2.85558e-4, 2.85585e-4, 3.85529, 1.00029, 3.85529e-4),
    "S1": (9.99835e-5, 8.56614e-5, 8.56755e-5, 3.85529, 1.00009, 1.15659e-4),
}
MEASURES = ("birnbaum", "criticality", "fussell_vesely", "raw", "rrw", "given_top")


def test_pressure_tank_probability_and_cut_sets():
    found = analyse_tree(tree("pressure_tank"))
    assert found.probability == pytest.approx(3.501584875003555e-05, rel=EXACT)
    assert found.cut_sets.rare_event_sum == pytest.approx(3.5016e-05, rel=EXACT)
    expected = {
        frozenset({"T"}): 5e-6,
        frozenset({"K2"}): 3e-5,
        frozenset({"S", "K1"}): 3e-9,
        frozenset({"S", "R"}): 1e-8,
        frozenset({"S", "S1"}): 3e-9,
    }
    assert sets_of(found) == pytest.approx(expected, rel=EXACT)
    # printed: K2 about 86 %, T about 14 %, each pair below 0.1 % of the sum
    shares = {events: p / found.cut_sets.rare_event_sum for events, p in sets_of(found).items()}
    assert shares[frozenset({"K2"})] == pytest.approx(0.86, abs=0.005)
    assert shares[frozenset({"T"})] == pytest.approx(0.14, abs=0.005)
    assert all(share < 0.001 for events, share in shares.items() if len(events) == 2)


@pytest.mark.parametrize("event", PRESSURE_TANK)
def test_pressure_tank_importance(event):
    found = analyse_tree(tree("pressure_tank"))
    values = [by_cause(found, measure)[event] for measure in MEASURES]
    assert values == pytest.approx(PRESSURE_TANK[event], rel=6e-6)  # six digits recomputed


def test_pressure_tank_of_the_aerospace_handbook():
    """Fault Tree Handbook with Aerospace Applications v1.1, NASA 2002: as above with K1 = 5e-6. A benchmark
    collection prints 3.5013348120867e-5; from the 8th digit on that is rounding of the program that made it.
    """
    found = analyse_tree(tree("pressure_tank", K1=5e-6))
    assert found.probability == pytest.approx(3.50133491625163e-05, rel=EXACT)
    assert found.probability == pytest.approx(3.5013348120867e-5, rel=1e-7)
    assert found.cut_sets.rare_event_sum == pytest.approx(3.50135e-05, rel=EXACT)


def test_redundant_seal_with_common_cause():
    """NASA handbook 2002 (as above), compression seal: published 1.000000999999e-6, all digits."""
    found = analyse_tree(tree("seal"))
    assert found.probability == pytest.approx(1.000000999999e-06, rel=EXACT)
    assert set(sets_of(found)) == {
        frozenset({"tape", "common_cause"}),
        frozenset({"metal", "plug", "seal_1", "seal_2"}),
    }
    assert by_cause(found, "birnbaum")["tape"] == pytest.approx(1e-5, rel=1e-5)
    assert by_cause(found, "raw")["tape"] == pytest.approx(9.99999, rel=1e-6)
    assert by_cause(found, "given_top")["tape"] == pytest.approx(0.999999, rel=1e-6)
    assert by_cause(found, "birnbaum")["common_cause"] == pytest.approx(0.1, rel=1e-5)
    assert by_cause(found, "raw")["common_cause"] == pytest.approx(99999.9, rel=1e-6)
    for part in ("metal", "plug", "seal_1", "seal_2"):
        # Q(1) - Q(0) = 1e-9 x (1 - 1e-6), of a Q of 1e-6: a subtraction would keep few digits of it
        assert by_cause(found, "birnbaum")[part] == pytest.approx(1e-9 * (1 - 1e-6), rel=EXACT)
        assert by_cause(found, "raw")[part] == pytest.approx(1.001, rel=1e-5)
        assert by_cause(found, "given_top")[part] == pytest.approx(0.001001, rel=1e-5)


def test_mooring_system():
    """Mentes and Helvacioglu, Ocean Engineering 2011, doi 10.1016/j.oceaneng.2010.11.003: 0.026246389824230341."""
    found = analyse_tree(tree("mooring"))
    assert found.probability == pytest.approx(0.026246389824230341, rel=1e-15)
    assert found.cut_sets.rare_event_sum == pytest.approx(0.0264982546, rel=1e-9)


def test_repeated_event():
    """Andrews, Fault Tree Analysis tutorial, slides 36-37: 0.1171. Gate by gate, B forgotten to be shared, 0.11791."""
    found = analyse_tree(tree("repeated_event"))
    assert found.probability == pytest.approx(0.1171, rel=EXACT)
    assert found.cut_sets.rare_event_sum == pytest.approx(0.12, rel=EXACT)
    expected = {  # recomputed
        "birnbaum": (0.981, 0.171, 0.081, 0.081),
        "criticality": (0.837746, 0.146029, 0.0691716, 0.0691716),
        "fussell_vesely": (0.853971, 0.162254, 0.0853971, 0.0853971),
        "raw": (8.53971, 2.31426, 1.62254, 1.62254),
        "rrw": (6.16316, 1.171, 1.07431, 1.07431),
        "given_top": (0.853971, 0.231426, 0.162254, 0.162254),
    }
    for measure, values in expected.items():
        assert [by_cause(found, measure)[event] for event in "ABCD"] == pytest.approx(values, rel=6e-6)


# 7. Radio block centre: Flammini, Mazzocca, Iacono, Marrone, HASE 2005, doi 10.1109/HASE.2005.26. Failure and repair
# rates per hour of each unit.
RATES = {
    "power": (1.8182e-5, 6.0, 3),
    "wan": (2.5e-6, 6.0, 2),
    "bus": (4.4444e-6, 4.0, 2),
    "radio": (5.7078e-6, 6.0, 2),
    "cpu": (7.4074e-6, 6.0, 3),
    "voter": (3.003e-9, 4.0, 2),
}


def units(chance) -> dict[str, float]:
    return {f"{name}_{i}": chance(*rates) for name, (*rates, n) in RATES.items() for i in range(1, n + 1)}


def test_radio_block_centre_unavailability():
    """Published 6.8855993019126e-12, every unit repaired on its own: q = failure / (failure + repair)."""
    centre = tree("radio_block_centre", **units(lambda fails, repaired: fails / (fails + repaired)))
    assert analyse_tree(centre).probability == pytest.approx(6.8855993019126e-12, rel=2e-14)
    groups = (2.78271e-17, 1.73611e-13, 1.23454e-12, 9.04970e-13, 4.57245e-12, 5.63626e-19)  # recomputed
    for name, expected in zip(RATES, groups, strict=True):
        assert analyse_tree(centre.at(name)).probability == pytest.approx(expected, rel=6e-6)


def test_radio_block_centre_in_one_hour():
    """Published 2.231940944647528e-10: no repair in that hour, q = 1 - exp(-failure)."""
    centre = tree("radio_block_centre", **units(lambda fails, _: -expm1(-fails)))
    assert analyse_tree(centre).probability == pytest.approx(2.231940944647528e-10, rel=1e-15)


# 8. Vesely, A time-dependent methodology for fault tree evaluation, Nuclear Engineering and Design 13 (1970) 337-360,
# Figure 1 (structure as transcribed publicly; its Table 3 was not seen, these numbers are recomputed): no repair.
VOTES = {
    1000: (3.48770777e-3, 3.569190e-3),
    2000: (1.31731532e-2, 1.379249e-2),
    5000: (6.95083517e-2, 7.782260e-2),
    10000: (2.11653734e-1, 2.636034e-1),
}


@pytest.mark.parametrize("hours", VOTES)
def test_what_is_no_minimal_cut_set_vanishes(hours):
    rates = {1: 2.6e-6, 2: 2.6e-6, 3: 2.6e-6, 4: 3.5e-5, 5: 3.5e-5, 6: 3.5e-5, 7: 5e-6, 8: 5e-6, 9: 8e-6, 10: 8e-6}
    found = analyse_tree(tree("two_votes", **{f"e{i}": -expm1(-rate * hours) for i, rate in rates.items()}))
    pairs = [("e1", "e2"), ("e1", "e3"), ("e2", "e3"), ("e4", "e5"), ("e4", "e6"), ("e5", "e6")]
    assert set(sets_of(found)) == {frozenset(pair) for pair in pairs}
    assert found.probability == pytest.approx(VOTES[hours][0], rel=4e-9)  # nine digits
    assert found.cut_sets.rare_event_sum == pytest.approx(VOTES[hours][1], rel=4e-7)  # seven digits
    assert all(
        by_cause(found, "fussell_vesely")[f"e{i}"] == 0 for i in (7, 8, 9, 10) if f"e{i}" in by_cause(found, "raw")
    )


@pytest.mark.parametrize(
    ("name", "expected"),
    [("series", (0.96, 0.98)), ("parallel", (0.04, 0.02)), ("two_of_three", (0.0952, 0.0776, 0.0584))],
)
def test_birnbaum_of_series_parallel_and_vote(name, expected):
    """Rausand and Høyland, System Reliability Theory, 2nd ed. 2004, ch. 5 (from memory), recomputed: reliabilities
    0.98, 0.96, 0.94; of three, the system works while two work (0.995696), so it fails when two fail.
    """
    found = analyse_tree(tree(name))
    values = [by_cause(found, "birnbaum")[f"c{i}"] for i in range(1, len(expected) + 1)]
    assert values == pytest.approx(expected, rel=EXACT)
    if name == "two_of_three":
        assert 1 - found.probability == pytest.approx(0.995696, rel=EXACT)


# 11. Redundant multiprocessor: Bobbio, Portinale, Minichino, Ciancamerla, Reliability Engineering and System Safety 71
# (2001) 249-260 (structure and printed digits from memory). Rates per hour, 5000 h.
MISSION = 5000.0
DISKS, PROCESSORS = ("D11", "D12", "D21", "D22"), ("P1", "P2")
PER_HOUR = {"N": 2e-9, **dict.fromkeys(PROCESSORS, 5e-7), **dict.fromkeys(("M1", "M2", "M3"), 3e-8)}


def test_multiprocessor_with_unrounded_inputs():
    """Recomputed by enumeration, and the same to 15 digits by pyAgrum's junction tree."""
    chances = {id: -expm1(-rate * MISSION) for id, rate in (PER_HOUR | dict.fromkeys(DISKS, 8e-5)).items()}
    assert chances["D11"] == pytest.approx(1 - exp(-0.4), rel=EXACT)
    found = analyse_tree(tree("multiprocessor", **chances))
    assert found.probability == pytest.approx(0.012311878141286, rel=1e-12)
    expected = {"P1": 0.02249550, "M1": 0.00015017, "M3": 0.00015035, "N": 0.00081222}
    for event, value in {**expected, **dict.fromkeys(DISKS, 0.98437759)}.items():
        assert by_cause(found, "given_top")[event] == pytest.approx(value, abs=6e-9)


def test_multiprocessor_with_the_rounded_inputs_of_the_paper():
    """Published: top 0.012313, a disk given the top 0.98436. They follow from inputs rounded to these digits."""
    found = analyse_tree(tree("multiprocessor"))
    assert found.probability == pytest.approx(0.0123125, abs=6e-8)
    expected = {"P1": 0.0225231, "M1": 0.0001502, "M3": 0.0001504, "N": 0.0008122}
    for event, value in {**expected, **dict.fromkeys(DISKS, 0.9843591)}.items():
        assert by_cause(found, "given_top")[event] == pytest.approx(value, abs=6e-8)
    assert round(by_cause(found, "given_top")["D11"], 5) == 0.98436
