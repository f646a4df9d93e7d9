"""The most that any stretch needs, estimated from what each stretch and the whole need."""

import numpy as np
import pytest
from scipy.stats import binom, poisson

from stockopt.demand.together import find_within


def as_nodes(*stretches):
    """One node: (K + 1, 1, S)."""
    return np.array(stretches, dtype=float).T[:, None, :]


def add_up(*stretches):
    total = np.ones(1)
    for chances in stretches:
        total = np.convolve(total, chances)
    return total[:, None]


@pytest.mark.parametrize("rates", [[0.3, 0.3], [0.1, 0.8, 0.4], [0.05] * 26])
def test_failures_at_random_fall_on_stretches_independently(rates):
    pieces = np.arange(20)
    stretches = [poisson.pmf(pieces, rate) for rate in rates]
    total = poisson.pmf(pieces, sum(rates))[:, None]
    within = find_within(as_nodes(*stretches), total)[:, 0]
    exact = np.prod([poisson.cdf(pieces, rate) for rate in rates], axis=0)
    assert within[:6] == pytest.approx(exact[:6], abs=1e-9)


def test_stretches_that_exclude_each_other_add_up():
    """Two pieces, all in one of three stretches or none at all."""
    stretch = [0.8, 0.0, 0.2]
    within = find_within(as_nodes(stretch, stretch, stretch), np.array([[0.4], [0.0], [0.6]]))
    assert within[:, 0] == pytest.approx([0.4, 0.4, 1.0])


def test_stretches_that_go_together_are_no_more_than_the_worst_of_them():
    """Two pieces in both of two stretches, or none: as if independent is too high, and safe."""
    stretch = [0.8, 0.0, 0.2, 0.0, 0.0]
    together = np.array([0.8, 0.0, 0.0, 0.0, 0.2])[:, None]
    within = find_within(as_nodes(stretch, stretch), together)[:, 0]
    assert within == pytest.approx([0.8, 0.8, 1.0, 1.0, 1.0])


@pytest.mark.parametrize("pieces_to_come", [4, 6])
def test_pieces_that_each_fail_just_once(pieces_to_come):
    """Each fails in one of three stretches; played out by every way they can fall."""
    falls = np.indices((3,) * pieces_to_come).reshape(pieces_to_come, -1)
    most = np.max([(falls == stretch).sum(axis=0) for stretch in range(3)], axis=0)
    stretch = binom.pmf(np.arange(pieces_to_come + 1), pieces_to_come, 1 / 3)
    total = np.zeros((pieces_to_come + 1, 1))
    total[-1] = 1.0
    within = find_within(as_nodes(stretch, stretch, stretch), total)[:, 0]
    beyond, exact = 1.0 - within, [(most > pieces).mean() for pieces in range(pieces_to_come + 1)]
    independent = 1.0 - np.cumsum(stretch) ** 3
    assert (beyond >= np.array(exact) - 1e-9).all()
    assert (np.abs(beyond - exact)[2:] <= np.abs(independent - exact)[2:] + 1e-12).all()


def test_a_single_stretch_is_as_it_is():
    stretch = [0.5, 0.3, 0.2]
    within = find_within(as_nodes(stretch), np.array(stretch)[:, None])
    assert within[:, 0] == pytest.approx([0.5, 0.8, 1.0])


def test_nothing_needed_stays_nothing():
    within = find_within(np.ones((1, 1, 4)), np.ones((1, 1)))
    assert within.tolist() == [[1.0]]


def test_added_up_independent_stretches_keep_their_product():
    stretches = [[0.7, 0.2, 0.1], [0.5, 0.3, 0.2]]
    within = find_within(as_nodes(*([*row, 0.0, 0.0] for row in stretches)), add_up(*stretches))
    assert within[1, 0] == pytest.approx(0.9 * 0.8)
