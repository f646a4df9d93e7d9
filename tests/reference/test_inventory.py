"""Order quantity, newsvendor, lost sales and reorder point: the textbooks' numbers.

Sources, all from memory:

* Hillier & Lieberman, Introduction to Operations Research, chapter on inventory theory: speakers
  for TV sets (8,000 a month, 12,000 an order, 0.30 a speaker a month); a bicycle wholesaler
  (exponential demand of mean 10,000, cost 20, penalty 45, salvage 9, set-up 800).
* Nahmias, Production and Operations Analysis, example 5.1: a newsstand (normal demand 11.73, 4.74;
  cost 0.25, price 0.75, salvage 0.10).
* Feeney & Sherbrooke (1966), after Palm (1938) and Erlang: one-for-one ordering with lost sales
  loses a share a / (1 + a) of what is asked for from a stock of one, whatever the law of the lead
  time of mean load a.
"""

import math

import numpy as np
import pytest
from scipy.special import roots_hermite

import stockopt.choices.store as store
from stockopt.choices.lead_time import LeadTime
from stockopt.choices.store import StoreTerms, list_store_choices
from stockopt.choices.store_cycle import find_cycle

AT_ONCE = LeadTime(days=np.zeros(1), weight=np.ones(1))


def test_speakers_order_quantity():
    a_day, an_order, a_piece_day = 8000 / 30, 12000, 0.30 / 30
    quantities = np.arange(20_000, 32_000)
    cycle = find_cycle(np.array([a_day]), AT_ONCE, 0, quantities)
    daily = an_order * cycle.orders[0, 0] + a_piece_day * cycle.stock[0, 0]
    best = quantities[daily.argmin()]
    assert best == pytest.approx(25298, abs=0.5)
    assert best / 8000 == pytest.approx(3.2, abs=0.05)  # months


def find_level_costs(pieces, weight, *, buy, short, salvage):
    """Return the levels and what each costs in all, with no chance to reorder."""
    terms = StoreTerms(
        days=1.0,
        pieces=pieces,
        weight=weight,
        offers=(),
        order_charges={},
        least_values={},
        short_cost=short,
        credit=salvage,
        capital_rate=0.0,
        paid=0.0,
    )
    choices = list_store_choices(terms)
    levels = np.array([choice.level for choice in choices])
    return levels, np.array([c.later_cost for c in choices]) + buy * levels


def test_newsstand():
    """A mixture of Poissons whose means are normal has nearly the normal demand of the book."""
    nodes, weight = roots_hermite(12)
    means = 11.73 + math.sqrt(2 * (4.74**2 - 11.73)) * nodes
    kept = means > 0
    weight = weight[kept] / weight[kept].sum()
    levels, cost = find_level_costs(means[kept], weight, buy=0.25, short=0.75, salvage=0.10)
    assert levels[cost.argmin()] == pytest.approx(15.24, abs=0.5)  # whole papers


def test_bicycle_wholesaler(monkeypatch):
    """In lots of 50: a mixture of Poissons with exponential means; money a lot, so set-up 16."""
    monkeypatch.setattr(store, "_EVERY_LEVEL", 10**6)
    share = (np.arange(2000) + 0.5) / 2000
    levels, cost = find_level_costs(
        -200 * np.log(1 - share), np.full(2000, 1 / 2000), buy=20, short=45, salvage=9
    )
    best = levels[cost.argmin()]
    assert best == pytest.approx(11856 / 50, abs=1.0)
    low = levels[np.flatnonzero(cost <= cost.min() + 16.0)[0]]
    assert low == pytest.approx(10674 / 50, abs=1.0)


@pytest.mark.parametrize("load", [0.1, 0.5, 2.0])
@pytest.mark.parametrize("spread", [0.0, 0.5, 0.9])
def test_one_for_one_with_lost_sales(load, spread):
    lead = LeadTime(days=10.0 * np.array([1 - spread, 1 + spread]), weight=np.full(2, 0.5))
    rate = load / 10.0
    cycle = find_cycle(np.array([rate]), lead, 0, np.array([1]))
    assert cycle.lost[0, 0, 0] / rate == pytest.approx(load / (1 + load), rel=1e-9)


@pytest.mark.parametrize(
    ("mean", "printed"),
    [
        (1.0, [1.0, 0.368, 0.104, 0.023, 0.004]),
        (4.0, [4.0, 3.018, 2.110, 1.348, 0.782, 0.410, 0.195, 0.085, 0.034, 0.012, 0.004]),
    ],
)
def test_pieces_short_by_reorder_point(mean, printed):
    """Sherbrooke (1992), chapter 2: pieces short while an order is on its way, by reorder point."""
    lead = LeadTime(days=np.array([12.0]), weight=np.ones(1))
    cycle = find_cycle(np.array([mean / 12.0]), lead, len(printed) - 1, np.array([20]))
    short = cycle.lost[0, :, 0] / cycle.orders[0, :, 0]
    assert short == pytest.approx(printed, abs=0.0006)
