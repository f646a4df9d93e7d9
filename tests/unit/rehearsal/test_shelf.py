"""A store's shelf, counted by hand, and against a walk through each day of each season."""

import numpy as np
import pytest

from stockopt.rehearsal.shelf import Shelf, Span, keep_shelf

SPAN = Span(begins=0.0, ends=100.0, last_order=90.0)


def keep(days, *, level, point, quantity, lead=10.0, source="Far Parts", span=SPAN):
    season = np.zeros(len(days), dtype=np.int64)
    shelf = Shelf(level=level, source=source, reorder_point=point, order_quantity=quantity)
    return keep_shelf(
        shelf, season, np.array(days, dtype=float), seasons=1, span=span,
        lead=lambda _: np.array([lead]),
    )  # fmt: skip


def test_pieces_come_from_the_shelf_until_it_is_empty():
    kept = keep([10, 20, 30], level=2, point=0, quantity=0, source="")
    assert kept.served.tolist() == [True, True, False]
    assert kept.day.tolist() == []
    assert kept.left.tolist() == [0]
    assert kept.piece_days.tolist() == [2 * 10 + 1 * 10]


def test_at_the_reorder_point_an_order_is_placed_and_comes_after_its_days():
    kept = keep([10, 15, 21], level=1, point=0, quantity=2)
    # Empty from day 10; the order of that day comes on day 20.
    assert kept.served.tolist() == [True, False, True]
    assert kept.day.tolist() == [10.0]
    assert kept.left.tolist() == [1]


def test_a_shelf_below_its_point_orders_on_the_first_day():
    assert keep([50], level=0, point=0, quantity=1).day.tolist() == [0.0, 50.0]


def test_one_order_is_on_its_way_at_a_time():
    kept = keep([1, 2, 3], level=3, point=2, quantity=1, lead=10.0)
    # The next is placed when one arrives and the shelf is still low.
    assert kept.day.tolist() == [1.0, 11.0, 21.0]


def test_nothing_is_ordered_that_would_come_after_the_season():
    assert keep([95], level=1, point=0, quantity=1).day.tolist() == []
    kept = keep([85], level=1, point=0, quantity=4, lead=30.0)
    # On the way when the season ends, it is still the store's.
    assert (kept.day.tolist(), kept.left.tolist()) == ([85.0], [4])


def walk(days, *, level, point, quantity, leads):
    """Go through one season in steps of an hour."""
    stock, arrives, orders, served, told = level, None, 0, [], []
    days = sorted(days)
    for hour in range(24 * 100 + 1):
        now = hour / 24
        if arrives is not None and arrives <= now:
            stock, arrives = stock + quantity, None
        while days and days[0] <= now:
            days.pop(0)
            served.append(stock > 0)
            stock -= stock > 0
        if stock <= point and arrives is None and now <= 90.0:
            arrives = now + leads[orders]
            told.append(now)
            orders += 1
    return served, told, stock + (quantity if arrives is not None else 0)


@pytest.mark.parametrize(
    ("level", "point", "quantity"), [(3, 1, 2), (0, 0, 1), (2, 2, 3), (5, 0, 1)]
)
def test_all_seasons_at_once_are_each_season_hour_by_hour(level, point, quantity):
    rng = np.random.default_rng(6)
    seasons, leads = 30, rng.integers(1, 20, size=(60, 30)).astype(float)
    rows = [
        (season, int(hour) / 24)
        for season in range(seasons)
        for hour in np.sort(rng.choice(24 * 100, size=rng.integers(0, 12), replace=False))
    ]
    season, day = (np.array(column) for column in zip(*rows, strict=True))
    shelf = Shelf(level=level, source="Far Parts", reorder_point=point, order_quantity=quantity)
    kept = keep_shelf(
        shelf, season, day, seasons=seasons, span=SPAN, lead=lambda number: leads[number]
    )
    for one in range(seasons):
        served, told, left = walk(
            day[season == one].tolist(), level=level, point=point, quantity=quantity,
            leads=leads[:, one],
        )  # fmt: skip
        assert kept.served[season == one].tolist() == served
        assert np.sort(kept.day[kept.season == one]).tolist() == pytest.approx(told)
        assert kept.left[one] == left
