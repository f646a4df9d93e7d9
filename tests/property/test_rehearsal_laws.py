"""Laws of seasons: what spares can and cannot do, whatever falls when."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rehearsal_builders import (
    make_aboard,
    make_ageing,
    make_calendar,
    make_dated,
    make_events,
    make_money,
    make_policy,
    make_voyages,
    make_world,
)

from stockopt.rehearsal.bill import write_bill
from stockopt.rehearsal.engine import use_spares
from stockopt.rehearsal.held import NEVER
from stockopt.rehearsal.seasons import play

#: The same examples every time; no deadline, as the machine may be busy.
LAW = settings(max_examples=60, deadline=None, derandomize=True)

SEASONS = 3
CALENDAR = make_calendar()
BEGINS, LASTS = (30.0, 45.0, 52.0), (15.0, 7.0, 7.0)

needs = st.lists(
    st.tuples(
        st.integers(0, SEASONS - 1), st.integers(0, 2), st.floats(0.0, 0.99), st.integers(-1, 2)
    ),
    min_size=1,
    max_size=25,
).map(
    lambda rows: make_events(
        *((season, leg, BEGINS[leg] + at * LASTS[leg], grade) for season, leg, at, grade in rows)
    )
)
stretches = st.sampled_from([(0, 0, 0), (0, 1, 1), (0, 0, 1), (0, 1, 2)])
#: How many of the spares are late, and before which leg they join.
lateness = st.tuples(st.integers(0, 3), st.sampled_from([1, 2, NEVER]))


def use(events, aboard, stretch):
    return use_spares(events, aboard, make_money(CALENDAR, stretch))


def walk(events, stretch, *, season, carry, restock, late, joins):
    """Go through one season step by step; return pieces short, paid for restocking, and left."""
    prices = [10.0, 20.0, 40.0]
    spares, short, paid = carry - late, 0, 0.0
    for leg in range(3):
        if late and leg >= joins:
            spares, late = spares + late, 0
        mine = (events.season == season) & (events.leg == leg)
        for _ in range(int(mine.sum())):
            if spares:
                spares -= 1
            else:
                short += 1
        is_end = leg < 2 and stretch[leg + 1] != stretch[leg]
        if restock and is_end:
            missing = carry - spares - late
            paid += missing * prices[leg]
            spares += missing
    return short, paid, spares + late


@LAW
@given(needs, stretches, st.integers(0, 4), st.booleans(), lateness)
def test_all_seasons_at_once_are_each_season_step_by_step(
    events, stretch, carry, restock, lateness
):
    late, joins = min(lateness[0], carry), lateness[1]
    aboard = make_aboard(carry, SEASONS, restock=restock, late=late, joins=joins)
    # Restocked pieces cost what they do where the stretch ends.
    money = make_money(
        CALENDAR, stretch, restock=np.array([_price_at_end(stretch, leg) for leg in range(3)])
    )
    used = use_spares(events, aboard, money)
    bill, _ = write_bill(used, money, CALENDAR, fill_rate=1.0, counters=[])
    for season in range(SEASONS):
        short, paid, left = walk(
            events, stretch, season=season, carry=carry, restock=restock, late=late, joins=joins
        )
        assert used.short[0, season] == short
        assert bill.restock[0, season] == pytest.approx(paid)
        assert used.left[0, season] == left


def walk_dated(events, stretch, *, season, dates, keeps, restock):
    """Go through one season day by day with a list of last good days, as a person would."""
    ends = [40.0, 52.0, 59.0]
    spares, short, bought = sorted(dates), 0, 0
    for leg in range(3):
        mine = (events.season == season) & (events.leg == leg)
        for day in events.day[mine]:
            good = [last for last in spares if day < last + 1.0]
            if good:
                spares.remove(min(good))
            else:
                short += 1
        if restock and leg < 2 and stretch[leg + 1] != stretch[leg]:
            later = ends[max(other for other in range(3) if stretch[other] == stretch[leg + 1])]
            spares = [last for last in spares if last >= later]
            missing = len(dates) - len(spares)
            bought += missing
            spares += [ends[leg] + keeps] * missing
    return short, bought, sum(last >= ends[2] for last in spares)


@LAW
@given(
    needs,
    stretches,
    st.lists(st.sampled_from([29.0, 35.0, 40.0, 48.0, 52.0, 59.0, np.inf]), min_size=1, max_size=4),
    st.sampled_from([0.0, 7.0, 14.0, np.inf]),
    st.booleans(),
)
def test_spares_with_dates_are_each_season_day_by_day(events, stretch, dates, keeps, restock):
    aboard = make_dated(dates, SEASONS, keeps=keeps, restock=restock)
    used = use(events, aboard, stretch)
    for season in range(SEASONS):
        short, bought, left = walk_dated(
            events, stretch, season=season, dates=dates, keeps=keeps, restock=restock
        )
        assert used.short[0, season] == short
        assert used.made_up.pieces[used.made_up.season == season].sum() == bought
        assert used.left[0, season] == left


@LAW
@given(needs, stretches, st.integers(1, 4), st.booleans(), lateness)
def test_dates_that_never_come_change_nothing(events, stretch, carry, restock, lateness):
    late = {"late": min(lateness[0], carry), "joins": lateness[1], "restock": restock}
    plain = use(events, make_aboard(carry, SEASONS, **late), stretch)
    dated = use(events, make_dated([np.inf] * carry, SEASONS, **late), stretch)
    assert (dated.short == plain.short).all()
    assert (dated.left == plain.left).all()
    for season in range(SEASONS):
        lots = [one.made_up.pieces[one.made_up.season == season].sum() for one in (plain, dated)]
        assert lots[0] == lots[1]


def _price_at_end(stretch, leg):
    prices = [10.0, 20.0, 40.0]
    return prices[max(other for other in range(3) if stretch[other] == stretch[leg])]


@LAW
@given(needs, stretches, st.booleans())
def test_with_nothing_aboard_all_that_is_needed_is_short(events, stretch, restock):
    used = use(events, make_aboard(0, SEASONS, restock=restock), stretch)
    assert (used.short == used.need).all()
    assert len(used.made_up.pieces) == 0
    assert used.left.sum() == 0


@LAW
@given(needs, stretches, st.integers(0, 4), st.booleans())
def test_pieces_are_conserved(events, stretch, carry, restock):
    used = use(events, make_aboard(carry, SEASONS, restock=restock), stretch)
    served = used.need - used.short
    if restock:
        assert (used.left <= carry).all()
    else:
        assert (used.left == carry - served).all()


@LAW
@given(needs, stretches, st.integers(0, 4))
def test_neither_one_more_nor_restocking_makes_more_short(events, stretch, carry):
    plain = use(events, make_aboard(carry, SEASONS), stretch).short
    assert (use(events, make_aboard(carry + 1, SEASONS), stretch).short <= plain).all()
    assert (use(events, make_aboard(carry, SEASONS, restock=True), stretch).short <= plain).all()


def test_seasons_depend_on_the_seed_alone():
    fleet, ageing = make_voyages(), make_ageing(seal=(1.5, 20.0))

    def need(seed):
        (tally,) = play(make_world(fleet, ageing, seasons=40, seed=seed), [make_policy()])
        return tally.need[0].tolist()

    assert need(1) == need(1)
    assert need(1) != need(2)
