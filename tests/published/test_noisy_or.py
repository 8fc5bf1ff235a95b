"""Noisy-OR: the fever table, pairs and triples, and which of the two readings of a link with a leak is meant."""

from itertools import product

import numpy as np
import pytest
from oracle.small_networks import yes_no

from diag.network.gates import noisy_or
from diag.network.inference import Inference
from diag.network.model import Network, Node

# Russell and Norvig, Artificial Intelligence: a Modern Approach, 2nd and 3rd ed., section on efficient
# representation of conditional distributions, Fig. 14.10 (from memory): inhibition 0.6 cold, 0.2 flu,
# 0.1 malaria, no leak.
NO_FEVER = {
    ("no", "no", "no"): 1.0,
    ("no", "no", "yes"): 0.1,
    ("no", "yes", "no"): 0.2,
    ("no", "yes", "yes"): 0.02,
    ("yes", "no", "no"): 0.6,
    ("yes", "no", "yes"): 0.06,
    ("yes", "yes", "no"): 0.12,
    ("yes", "yes", "yes"): 0.012,
}


def gate_network(strengths, leak=0.0) -> Network:
    roots = [yes_no(f"x{i}", 0.5) for i in range(len(strengths))]
    gate = noisy_or(strengths, leak)
    return Network([*roots, Node("e", ("no", "yes"), tuple(r.id for r in roots), gate)])


def chance(strengths, present, leak=0.0) -> float:
    """P(e = yes | exactly these parents present), by inference."""
    told = {f"x{i}": "yes" if i in present else "no" for i in range(len(strengths))}
    return Inference(gate_network(strengths, leak), told).posterior("e")[1]


def test_fever_table_russell_norvig_fig_14_10():
    network = gate_network([1 - 0.6, 1 - 0.2, 1 - 0.1])
    table = network.table("e")
    for causes in product((0, 1), repeat=3):
        named = tuple(("no", "yes")[c] for c in causes)
        told = {f"x{i}": state for i, state in enumerate(named)}
        assert table[causes] == pytest.approx([NO_FEVER[named], 1 - NO_FEVER[named]], abs=1e-15)
        assert Inference(network, told).posterior("e")[0] == pytest.approx(NO_FEVER[named], abs=1e-15)


def test_pairs_of_the_recursive_noisy_or_paper():
    """Lemmer and Gossink, Recursive noisy OR, IEEE Trans. SMC-B 34 (2004): p(a), p(b), p(c) = 0.5, 0.6, 0.7.

    The pairs a,b 0.8 and b,c 0.88 are published; a,c 0.85 and a,b,c 0.94 are what the plain rule gives
    (the paper's expert says 0.9 for a,c, hence its 0.96, which is another rule than the one used here).
    """
    links = (0.5, 0.6, 0.7)
    assert chance(links, {0, 1}) == pytest.approx(0.8, rel=1e-12)
    assert chance(links, {1, 2}) == pytest.approx(0.88, rel=1e-12)
    assert chance(links, {0, 2}) == pytest.approx(0.85, rel=1e-12)
    assert chance(links, {0, 1, 2}) == pytest.approx(0.94, rel=1e-12)


@pytest.mark.parametrize(("present", "net"), [((), 0.1), ((1,), 0.37), ((0,), 0.64), ((0, 1), 0.748)])
def test_a_link_is_the_net_reading_not_the_compound_one(present, net):
    """Leak 0.1, links 0.6 and 0.3: Díez 1993 (net) gives 0.1, 0.37, 0.64, 0.748; Henrion 1989 (compound, the
    leak inside the link) would give 0.1, 0.3, 0.6, 0.688889. The numbers are recomputed, with a second engine too
    (pyAgrum's addNoisyORNet and addNoisyORCompound).
    """
    assert chance((0.6, 0.3), set(present), leak=0.1) == pytest.approx(net, rel=1e-12)


def test_compound_links_turned_to_net_ones_give_the_compound_table():
    """p_net = (p_compound - leak) / (1 - leak); both causes: 1 - 0.4 x 0.7 / 0.9 = 0.688889 (recomputed)."""
    links = [(p - 0.1) / 0.9 for p in (0.6, 0.3)]
    expected = [[0.1, 0.3], [0.6, 1 - 0.4 * 0.7 / 0.9]]
    assert gate_network(links, 0.1).table("e")[..., 1] == pytest.approx(np.array(expected), rel=1e-12)
