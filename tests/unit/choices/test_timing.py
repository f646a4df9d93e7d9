"""In which stretch the spares of a whole plan run out."""

import numpy as np
import pytest
from choices_builders import make_poisson_need, make_stretches, make_terms
from scipy.stats import poisson

from stockopt.choices.aboard import list_choices
from stockopt.choices.timing import share_out_short

HOURS = np.array([50.0, 200.0, 90.0])
UNTIL = np.append(0.0, np.cumsum(HOURS))
PIECES = np.arange(60)


def short_by_sums(rates, weights, spares):
    """The pieces short in each stretch, written out given each rate and then mixed."""
    needed = poisson.pmf(PIECES, np.array(rates)[:, None, None] * UNTIL[:, None])
    return np.diff(np.array(weights) @ (needed @ np.maximum(PIECES - spares, 0)))


@pytest.mark.parametrize("rate", [0.0004, 0.004, 0.02])
def test_failures_at_a_known_rate_are_told_apart_exactly(rate):
    need = make_poisson_need([rate], [1.0], HOURS)
    found = share_out_short(need.by_stretch[0], need.whole[0])
    for spares in range(4):
        expected = short_by_sums([rate], [1.0], spares)
        assert found[:, spares] == pytest.approx(expected, rel=1e-4, abs=1e-7)


def test_failures_at_an_unknown_rate_are_nearer_than_by_where_the_need_is():
    """Rates five times apart: 3 to 11 % of the pieces fall wrong, by the need 11 to 29 %."""
    rates, weights = [0.002, 0.01], [0.7, 0.3]
    need = make_poisson_need(rates, weights, HOURS)
    found = share_out_short(need.by_stretch[0], need.whole[0])
    for spares in range(1, 4):
        exact = short_by_sums(rates, weights, spares)
        off = np.abs(found[:, spares] - exact).max()
        assert off < 0.5 * np.abs(HOURS / HOURS.sum() * exact.sum() - exact).max()


def test_none_aboard_each_stretch_is_short_of_what_it_needs():
    by_stretch = np.array([[0.4, 0.6, 0.0], [0.9, 0.1, 0.0]])
    whole = np.array([0.35, 0.6, 0.05])
    short = share_out_short(by_stretch, whole)
    assert short[:, 0] == pytest.approx([0.6, 0.1])
    assert short.sum(axis=0) == pytest.approx([0.7, 0.05, 0.0])


def test_nothing_needed_is_nowhere_short():
    assert share_out_short(np.ones((3, 1)), np.ones(1)).tolist() == [[0.0]] * 3


def test_spares_run_out_late_so_a_costly_end_costs_more():
    """Two stretches alike: cheap then costly is worse than costly then cheap."""
    need = make_poisson_need([0.01], [1.0], [100.0, 100.0], stretches=make_stretches("", ""))
    costs = [
        {
            choice.carry: choice.later_cost
            for choice in list_choices(
                need,
                make_terms(2, shortage_costs=prices, restock_prices=np.nan, credit=0.0),
            )
        }
        for prices in ([500.0, 3000.0], [3000.0, 500.0])
    ]
    assert costs[0][0] == pytest.approx(costs[1][0])
    assert all(costs[0][carry] > costs[1][carry] + 1.0 for carry in (1, 2, 3))
