"""Spares that expire under way, in seasons counted by hand."""

import numpy as np
import pytest
from rehearsal_builders import make_calendar, make_dated, make_events, make_money

from stockopt.rehearsal.bill import write_bill
from stockopt.rehearsal.engine import use_spares

# Three legs: days 30 to 40, 45 to 52, 52 to 59.
EACH_LEG, ONE_STRETCH = [0, 1, 2], [0, 0, 0]
KEEPS = np.inf


def use(events, aboard, stretch=ONE_STRETCH):
    """Return what became of the spares, and what was paid to make them up."""
    calendar = make_calendar()
    money = make_money(calendar, stretch)
    used = use_spares(events, aboard, money)
    bill, _ = write_bill(used, money, calendar, fill_rate=1.0, counters=[])
    return used, bill.restock[0].tolist()


def row(values):
    return values[0].tolist()


def test_a_spare_cannot_be_used_after_its_last_good_day():
    # It is good to the end of day 40: in season 0 it serves, in 1 and 2 it is too late.
    needs = make_events((0, 0, 40.9), (1, 1, 41.0), (2, 1, 48))
    used, _ = use(needs, make_dated([40], 4))
    assert row(used.short) == [0, 1, 1, 0]
    # In season 3 nothing needed it: it has expired all the same.
    assert row(used.left) == [0, 0, 0, 0]


def test_the_shortest_dated_is_used_first():
    # Either order of stowing: the one that expires serves first, the one that keeps is left.
    needs = make_events((0, 0, 36), (1, 0, 36), (1, 1, 48), (2, 1, 48), (2, 2, 53))
    for dates in ([40, KEEPS], [KEEPS, 40]):
        used, _ = use(needs, make_dated(dates, 3))
        assert row(used.short) == [0, 0, 1]
        assert row(used.left) == [1, 0, 0]


def test_what_keeps_for_ever_is_found_behind_what_is_gone():
    used, _ = use(make_events((0, 1, 46), (0, 1, 47)), make_dated([40, 50, KEEPS], 1))
    assert (row(used.short), row(used.left)) == ([0], [0])


def test_a_piece_good_to_the_day_she_arrives_is_left():
    assert row(use(make_events((1, 0, 36)), make_dated([59], 2))[0].left) == [1, 0]
    assert row(use(make_events((1, 0, 36)), make_dated([58], 2))[0].left) == [0, 0]


def test_what_would_not_last_to_the_next_chance_is_replaced_with_what_was_used():
    # Chances on day 40 and 52; what is bought then is good for 9 days more. In season 0 one is
    # used; nobody needs anything in season 1. Neither that from home nor what came on day 40
    # lasts: one piece on each day, 10 each.
    needs = make_events((0, 0, 36), (0, 1, 48), (0, 2, 59))
    used, paid = use(needs, make_dated([41], 2, keeps=9, restock=True), EACH_LEG)
    assert row(used.short) == [0, 0]
    assert paid == [20.0, 20.0]
    # What came on day 52 is good to day 61, after she is back on day 59.
    assert row(used.left) == [0, 1]


def test_what_lasts_to_the_next_chance_stays():
    # Good to day 52, where the next chance is; then it is replaced.
    _, paid = use(make_events((1, 0, 36)), make_dated([52], 2, keeps=90, restock=True), EACH_LEG)
    assert paid == [10.0, 10.0]
    _, paid = use(make_events((1, 0, 36)), make_dated([59], 2, keeps=90, restock=True), EACH_LEG)
    assert paid == [0.0, 10.0]


def test_a_piece_made_up_expires_too():
    # Bought on day 40 and good for 3 days: of no use on day 48.
    needs = make_events((0, 0, 36), (0, 1, 48))
    used, paid = use(needs, make_dated([41], 1, keeps=3, restock=True), EACH_LEG)
    assert row(used.short) == [1]
    assert paid == [20.0]
    assert row(used.left) == [0]


@pytest.mark.parametrize(("bought", "short"), [(60, 0), (47, 1)])
def test_late_spares_come_with_their_date(bought, short):
    # Hers serves to day 40; the one on order joins on the second leg.
    aboard = make_dated([bought, 40], 1, bought=bought, late=1, joins=1)
    used, _ = use(make_events((0, 0, 36), (0, 1, 48)), aboard)
    assert row(used.short) == [short]


@pytest.mark.parametrize(("bought", "left"), [(60, 1), (47, 0)])
def test_late_spares_that_never_came_count_only_in_date(bought, left):
    used, _ = use(make_events((0, 0, 36)), make_dated([bought], 1, bought=bought, late=1))
    assert (row(used.short), row(used.left)) == ([1], [left])
