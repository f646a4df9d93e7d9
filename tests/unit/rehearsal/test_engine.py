"""Spares used one after another, in seasons counted by hand."""

import numpy as np
import pytest
from rehearsal_builders import make_aboard, make_calendar, make_events, make_money

from stockopt.rehearsal.bill import write_bill
from stockopt.rehearsal.engine import use_spares

# Three legs: days 30 to 40, 45 to 52, 52 to 59.
EACH_LEG, ONE_STRETCH = [0, 1, 2], [0, 0, 0]


def use(events, aboard, stretch=EACH_LEG, fill_rate=1.0, **prices):
    """Return what became of the spares, and the bill for it."""
    calendar = make_calendar()
    money = make_money(calendar, stretch, **prices)
    used = use_spares(events, aboard, money)
    bill, served = write_bill(used, money, calendar, fill_rate=fill_rate, counters=[])
    assert served == []
    return used, bill


def row(values):
    return values[0].tolist()


def test_the_first_spare_serves_and_the_second_piece_is_short():
    # Season 0 needs one on each of two legs, season 1 nothing.
    used, bill = use(make_events((0, 0, 36), (0, 1, 48)), make_aboard(1, 2))
    assert row(used.need) == [2, 0]
    assert row(used.short) == [1, 0]
    # Four days to the end of the leg and one of waiting, at 100 a day, and the piece.
    assert row(bill.days_lost) == pytest.approx([5.0, 0.0])
    assert row(bill.short) == pytest.approx([510.0, 0.0])
    assert row(bill.restock) == [0.0, 0.0]
    assert row(used.left) == [0, 1]


def test_what_is_made_up_in_between_is_there_for_the_next_stretch():
    used, bill = use(make_events((0, 0, 36), (0, 1, 48)), make_aboard(1, 1, restock=True))
    assert row(used.short) == [0]
    # Made up twice: where the first leg ends, and where the second does.
    assert row(bill.restock) == [20.0]
    assert row(used.left) == [1]


def test_nothing_is_made_up_after_the_last_stretch():
    used, bill = use(make_events((0, 2, 55)), make_aboard(2, 1, restock=True))
    assert row(bill.restock) == [0.0]
    assert row(used.left) == [1]


def test_two_of_one_stretch_want_two_spares_however_often_it_is_made_up():
    needs = make_events((0, 1, 46), (0, 1, 47))
    assert row(use(needs, make_aboard(1, 1, restock=True))[0].short) == [1]
    assert row(use(needs, make_aboard(2, 1, restock=True))[0].short) == [0]


def test_restocked_pieces_cost_what_they_cost_where_the_stretch_ended():
    prices = {"restock": np.array([30.0, 10.0, 1.0])}
    _, bill = use(make_events((0, 0, 31), (0, 0, 32)), make_aboard(2, 1, restock=True), **prices)
    assert row(bill.restock) == [60.0]


def test_in_reach_the_store_comes_and_waits_only_where_its_shelf_is_empty():
    reach = {"in_reach": np.ones(3, dtype=bool)}
    for luck, days in ((0.85, 1.0), (0.95, 1.0 + 5.0)):
        events = make_events((0, 0, 31), luck=luck)
        _, bill = use(events, make_aboard(0, 1), fill_rate=0.9, **reach)
        assert row(bill.days_lost) == pytest.approx([days])


def test_a_failure_in_port_only_waits():
    _, bill = use(make_events((0, 0, 43)), make_aboard(0, 1))
    assert row(bill.days_lost) == pytest.approx([1.0])


def test_late_spares_are_short_until_they_come_aboard():
    needs = make_events((0, 0, 36), (0, 1, 48))
    # The only spare joins before the second leg.
    used, _ = use(needs, make_aboard(1, 1, late=1, joins=1), ONE_STRETCH)
    assert (row(used.short), row(used.left)) == ([1], [0])
    # It never does, but is somewhere at the end.
    used, _ = use(needs, make_aboard(1, 1, late=1), ONE_STRETCH)
    assert (row(used.short), row(used.left)) == ([2], [1])


def test_late_spares_are_not_bought_again():
    used, bill = use(make_events((0, 0, 36)), make_aboard(2, 1, late=1, joins=2, restock=True))
    assert row(bill.restock) == [10.0]
    assert row(used.left) == [2]
