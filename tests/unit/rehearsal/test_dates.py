"""Which spares go along and until when they are good, told from the tables by hand."""

from datetime import date, timedelta

import numpy as np
import pytest
from rehearsal_builders import make_aboard, make_voyages

from stockopt.rehearsal.calendar import write_out
from stockopt.rehearsal.dates import Dates
from stockopt.rehearsal.policy import Stowed

#: She departs on day 30 and is back on day 59; orders are placed on day 0.
PLANNED_ON = date(2031, 4, 1)


def on(day):
    return PLANNED_ON + timedelta(days=day)


def make_dates(*stock, shelf_life=None, bought_on=0.0):
    part = {"part": "seal", "price": 10, "clock": "hours", "shelf_life_days": shelf_life}
    rows = [
        {"place": "Alba", "part": "seal", "on_hand": pieces, "expires_on": last and on(last)}
        for last, pieces in stock
    ]
    fleet = make_voyages(parts=[part], stock=rows)
    return Dates(fleet, write_out(fleet), bought_on=bought_on)


def last_days(dates, carry, **line):
    """Return the last good days of the spares carried; None where all last to the end."""
    usual = {"replace_now": 0, "restock": False, "on_hand": 0}
    lines = [Stowed(carry=carry, **(usual | line))]
    in_date = dates.stamp("seal", lines, make_aboard(carry, 1)).in_date
    return None if in_date is None else (in_date.until[0] - 1.0).tolist()


def wasted(dates, carry, **line):
    usual = {"replace_now": 0, "restock": False, "on_hand": 0}
    return dates.count_wasted("seal", [Stowed(carry=carry, **(usual | line))])


def test_her_own_that_expire_go_along_behind_those_that_keep():
    dates = make_dates((40, 1), (50, 1), (59, 1), (None, 1))
    # Day 59, on which she is back, is soon enough; the two others expire under way.
    assert last_days(dates, 2, on_hand=4) is None
    assert last_days(dates, 3, on_hand=4) == [50.0, np.inf, np.inf]
    assert last_days(dates, 4, on_hand=4) == [40.0, 50.0, np.inf, np.inf]
    assert [wasted(dates, n, on_hand=4) for n in (2, 3, 4)] == [[2], [1], [0]]


def test_what_is_out_of_date_at_departure_was_never_counted():
    assert last_days(make_dates((29, 1), (None, 1)), 1, on_hand=1) is None


def test_what_is_changed_now_takes_the_first_to_expire():
    dates = make_dates((40, 1), (50, 1), (None, 1))
    assert last_days(dates, 2, replace_now=1, on_hand=3) == [50.0, np.inf]
    assert last_days(dates, 1, replace_now=2, on_hand=3) is None
    assert wasted(dates, 1, replace_now=2, on_hand=3) == [0]


def test_left_ashore_they_do_not_go_along():
    dates = make_dates((40, 1), (50, 1), (None, 1))
    assert last_days(dates, 1, own_left=2, on_hand=3) is None
    assert wasted(dates, 1, own_left=2, on_hand=3) == [2]


def test_bought_ones_keep_from_the_day_of_the_plan_and_those_of_others_to_the_end():
    dates = make_dates((40, 1), shelf_life=45.5)
    assert last_days(dates, 3, on_hand=1, moved=1) == [45.0, 40.0, np.inf]
    # Ordered 20 days before the calendar begins.
    early = make_dates(shelf_life=60, bought_on=-20.0)
    assert last_days(early, 1) == [40.0]


@pytest.mark.parametrize(("shelf_life", "short_lived"), [(58, True), (59, False), (None, False)])
def test_parts_that_do_not_keep_for_the_plan(shelf_life, short_lived):
    dates = make_dates(shelf_life=shelf_life)
    assert dates.is_short_lived("Alba", "seal") == short_lived
    assert (last_days(dates, 1) is not None) == short_lived
