"""Later departures as remedies: checked with everything weighed anew, put right or left out."""

from __future__ import annotations

import time
from datetime import timedelta

import pytest
from program_builders import DEPARTS_ON, make_choice, make_choices, make_offer, make_part

from stockopt.choices.settled import Settled
from stockopt.errors import CommandError, NoPlanError
from stockopt.program import departures
from stockopt.program.departures import check_departures, solve_or_tell
from stockopt.program.solve import solve_program

#: Days until the quick offer, with one piece, and the slow one, with any number, are in hand.
QUICK, SLOW = 8, 20


def weigh_for(days, *, floor=2, kg=None):
    """Return how a boat that must carry some pieces of 3 kg is weighed, departing so late."""
    departs_on = DEPARTS_ON + timedelta(days=days)
    offers = [make_offer(source="quick", most=1)] if days >= QUICK else []
    offers += [make_offer(source="slow")] if days >= SLOW else []
    due = [DEPARTS_ON + timedelta(days=late) for late in (QUICK, SLOW) if late > days]
    part = make_part(
        make_choice(floor),
        floor=floor,
        offers=tuple(offers),
        too_late=min(due, default=None),
        kg=3.0,
    )
    limits = {"Alba": {"departs_on": departs_on, "kg": kg}}
    return lambda settled: make_choices(part, limits=limits)


def departures_of(later, *, floor=2):
    with pytest.raises(NoPlanError) as raised:
        solve_or_tell(weigh_for(0, floor=floor), later, gap=0.0, seconds=10.0)
    (clash,) = raised.value.clashes
    changes = [remedy[0] for remedy in clash.remedies]
    return clash, [change for change in changes if change.limit == "departs_on"]


def test_first_day_is_told_where_it_does():
    clash, (change,) = departures_of(lambda _, days: weigh_for(days, floor=1), floor=1)
    assert (change.needed, change.checked) == (QUICK, True)
    assert change.text == "let Alba depart 8 days later, on 2031-05-09"
    assert "no plan keeps" not in clash.text


def test_later_day_is_told_where_the_first_brings_too_little():
    _, (change,) = departures_of(lambda _, days: weigh_for(days))
    assert (change.needed, change.checked) == (SLOW, True)
    assert change.text == "let Alba depart 20 days later, on 2031-05-21"


def test_no_departure_is_told_where_another_limit_is_in_the_way():
    """What she needs by then weighs more than she takes, as it does not today."""
    clash, changes = departures_of(lambda _, days: weigh_for(days, floor=3, kg=8.0))
    assert changes == []
    assert clash.text.endswith("but with all else as it is no plan keeps the limits then")


def test_no_departure_is_told_where_she_cannot():
    def refuse(boat, days):
        raise CommandError([f"{boat} has left"])

    _, changes = departures_of(refuse)
    assert changes == []


def test_departure_for_which_there_is_no_time_stays_unchecked():
    with pytest.raises(NoPlanError) as raised:
        solve_program(weigh_for(0)(Settled()), gap=0.0, seconds=10.0)
    past = time.perf_counter() - 1.0
    (clash,) = check_departures(raised.value.clashes, lambda _, days: weigh_for(days), until=past)
    told = [remedy[0] for remedy in clash.remedies if remedy[0].limit == "departs_on"]
    assert [change.checked for change in told] == [False]


def test_departure_that_takes_too_long_to_weigh_stays_unchecked(monkeypatch):
    monkeypatch.setattr(departures, "_LEAST_SECONDS", 0.02)

    def weigh_slowly(settled):
        time.sleep(0.05)
        return weigh_for(0, floor=1)(settled)

    def refuse(boat, days):
        raise AssertionError

    with pytest.raises(NoPlanError) as raised:
        solve_or_tell(weigh_slowly, refuse, gap=0.0, seconds=0.03)
    changes = [remedy[0] for remedy in raised.value.clashes[0].remedies]
    assert [change.checked for change in changes if change.limit == "departs_on"] == [False]
