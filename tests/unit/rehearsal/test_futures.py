"""What fails when: lives so sharp that they are known, and laws of those that are not."""

import math
from datetime import date

import numpy as np
import pytest
from rehearsal_builders import make_calendar
from scipy.stats import ks_2samp, kstest

from stockopt.ageing.ageing import Nodes
from stockopt.rehearsal.futures import Life, Seat, draw_life, play_out

SHARP = 2_000.0


def make_seat(**changes):
    usual = {"boat": "Alba", "machine": "engine", "slot": 1, "clock": "hours", "age": 0.0}
    return Seat(**(usual | {"known": True, "grade": 0} | changes))


def play(seat, *, scale, shape=SHARP, due=math.inf, seasons=3, replaced=False, seed=1):
    life = Life(shape=np.full(seasons, shape), scale=np.full(seasons, scale), due=due)
    return play_out(
        seed, "seal", [seat], [life], make_calendar(), replaced=[replaced], seasons=seasons
    )


def first_season(future, *, fresh=False):
    events = future.events.picked((future.events.season == 0) & (future.fresh == fresh))
    rows = zip(events.leg, events.day, events.grade, strict=True)
    return [(int(leg), round(float(day), 1), int(grade)) for leg, day, grade in rows]


def test_a_piece_fails_on_the_leg_and_day_when_its_meter_gets_there():
    # 40 h in ten days from day 30, then 14 h in each of two weeks from day 45.
    future = play(make_seat(age=70.0), scale=100.0)
    assert first_season(future) == [(0, 37.5, 0)]
    future = play(make_seat(age=53.0), scale=100.0)
    assert first_season(future) == [(1, 48.5, 0)]


def test_the_calendar_goes_on_in_port():
    future = play(make_seat(clock="days", age=0.0), scale=12.0)
    # Days 42 and 54, the first of them in port after the first leg.
    assert first_season(future) == [(0, 42.0, 0), (2, 54.0, 0)]


def test_a_piece_is_changed_when_due_and_nothing_fails_then():
    future = play(make_seat(age=90.0), scale=1_000.0, due=100.0)
    assert first_season(future) == [(0, 32.5, -1)]
    # One that is past its time is changed at once.
    future = play(make_seat(age=120.0), scale=1_000.0, due=100.0)
    assert first_season(future) == [(0, 30.0, -1)]


def test_a_new_piece_begins_at_no_age():
    future = play(make_seat(age=90.0), scale=50.0, replaced=True)
    assert first_season(future)[0] == (0, 30.0, 0)
    assert first_season(future, fresh=True) == [(1, 50.0, 0)]


def test_unspent_lives_are_counted_in_mean_lives():
    future = play(make_seat(age=70.0), scale=100.0, replaced=True)
    assert future.unspent_now[0] == pytest.approx(0.3, abs=0.005)
    # 68 h are run: the next piece fails 130 h after departure; a new one 100 h after it.
    assert future.unspent[0] == pytest.approx((130 - 68) / 100, abs=0.01)
    assert future.unspent_fresh[0] == pytest.approx((100 - 68) / 100, abs=0.01)


@pytest.mark.parametrize("due", [math.inf, 90.0])
def test_unknown_ages_are_those_of_pieces_met_at_a_moment_that_nobody_chose(due):
    shape, scale, count = 3.0, 100.0, 4_000
    future = play(
        make_seat(known=False, age=20.0), scale=scale, shape=shape, due=due, seasons=count
    )
    # A life met so is drawn by its length, and the moment is anywhere in it.
    rng = np.random.default_rng(2)
    life = scale * rng.gamma(1 + 1 / shape, size=40 * count) ** (1 / shape)
    age = rng.random(len(life)) * life
    met = (age > 20.0) & (age < due)
    left = np.minimum(life, due)[met] - age[met]
    mean = np.minimum(scale * rng.exponential(size=400_000) ** (1 / shape), due).mean()
    assert ks_2samp(future.unspent_now[0] * mean, left).pvalue > 1e-3


def test_unknown_ages_of_what_fails_at_random_do_not_matter():
    future = play(make_seat(known=False), scale=100.0, shape=1.0, seasons=4_000)
    assert kstest(future.unspent_now[0], "expon").pvalue > 1e-3


def test_lives_are_drawn_by_their_weights_and_shared_by_all_positions():
    nodes = Nodes(
        shape=np.array([1.0, 3.0]), scale=np.array([50.0, 90.0]), weight=np.array([0.25, 0.75])
    )
    life = draw_life(1, "seal", nodes, math.inf, 20_000)
    assert np.mean(life.shape == 3.0) == pytest.approx(0.75, abs=0.01)
    assert set(zip(life.shape.tolist(), life.scale.tolist(), strict=True)) == {(1, 50), (3, 90)}


def test_a_position_meets_the_same_fate_whatever_stands_beside_it():
    seats = [make_seat(age=10.0), make_seat(machine="other", age=30.0)]
    life = Life(shape=np.full(50, 1.5), scale=np.full(50, 40.0), due=math.inf)

    def fate(chosen):
        future = play_out(
            1, "seal", chosen, [life] * len(chosen), make_calendar(),
            replaced=[False] * len(chosen), seasons=50,
        )  # fmt: skip
        return {
            seat.machine: row.tolist() for seat, row in zip(chosen, future.unspent, strict=True)
        }

    assert fate(seats)["other"] == fate(seats[1:])["other"]
    assert fate(seats)["engine"] != fate(seats)["other"]


def test_a_boat_whose_pieces_fail_more_often():
    life = Life(shape=np.full(3, 2.0), scale=np.full(3, 100.0), due=math.inf)
    assert life.on_boat(4.0).scale == pytest.approx(np.full(3, 50.0))


def test_legs_are_written_out_with_the_hours_of_each_machine():
    hours = [{"boat": "Alba", "departs_on": date(2031, 5, 16), "machine": "genset", "hours": 5}]
    machines = [{"boat": "Alba", "machine": name, "model": "M"} for name in ("engine", "genset")]
    calendar = make_calendar(leg_hours=hours, machines=machines)
    assert calendar.departs.tolist() == [30.0, 45.0, 52.0]
    assert calendar.until_next.tolist() == [15.0, 7.0, 7.0]
    assert calendar.reached("Alba", "engine", "hours").tolist() == [40.0, 54.0, 68.0]
    assert calendar.reached("Alba", "genset", "hours").tolist() == [40.0, 45.0, 50.0]
    assert calendar.reached("Alba", "engine", "days").tolist() == [15.0, 22.0, 29.0]
