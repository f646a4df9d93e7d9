"""Which piece a change is about. Every engine here is new on day 0 and runs 1 h a day."""

import pandas as pd
import pytest
from lives_builders import change, engine, fit, lives_of, notes_on, on, read, tell, told

from stockopt.ageing.prior import SHAPE_PRIOR
from stockopt.lives.slots import AGE_POWER, draw_failed


def lives_with(quantity, *replacements, **more):
    return lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 100)],
        fitted=[{"model": "M", "part": "seal", "quantity": quantity}],
        replacements=replacements,
        **more,
    )


def test_a_given_slot_is_taken_and_for_a_planned_change_the_oldest_else():
    # Day 10: slot 2, as given. Days 20, 30: slots 1 and 3, still the first pieces. Day 40: slot 2,
    # then the oldest at 30 h.
    lives = lives_with(
        3,
        change(10, slot=2, reason="scheduled"),
        *(change(day, reason="scheduled") for day in (20, 30, 40)),
    )
    assert told(lives, "slot left row", reason="scheduled") == [
        (1, 20, 3),
        (2, 10, 2),
        (2, 30, 5),
        (3, 30, 4),
    ]
    assert tell(lives.positions, "slot age") == [(1, 80), (2, 60), (3, 70)]
    assert len(notes_on(lives, "seal", "slot not given for 3 ")) == 1


def test_several_pieces_are_a_run_of_slots_from_the_one_given():
    lives = lives_with(4, change(10, slot=2, quantity=2))
    assert told(lives, "slot left", failed=True) == [(2, 10), (3, 10)]


def test_several_pieces_without_a_slot_are_the_oldest_on_schedule():
    lives = lives_with(3, change(10, slot=1), change(30, quantity=2, reason="scheduled"))
    assert told(lives, "slot left", ended_on=pd.Timestamp(on(30))) == [(2, 30), (3, 30)]
    assert len(notes_on(lives, "slot not given for 2 ")) == 1


@pytest.mark.parametrize(("wear", "power"), [("wears", 1.2), ("random", 0.0), ("", 0.5)])
def test_a_failure_without_a_slot_is_drawn_by_hazard(wear, power):
    # Slot 1 is 10 h old, slot 2 is 40 h: the hazard of age^(b - 1), b as the part wears.
    share = 40**power / (40**power + 10**power)
    days = range(60, 3060)
    # The same on 3,000 days: what was drawn hangs on the day.
    older = sum(draw_failed([10.0, 40.0], 1, power, seed=day * 1000) == [1] for day in days)
    assert older / len(days) == pytest.approx(share, abs=3 * (share * (1 - share) / 3000) ** 0.5)
    assert AGE_POWER[wear] == power == pytest.approx(SHAPE_PRIOR[wear][0] - 1.0)


def test_the_same_records_draw_the_same_lives():
    rows = [change(day) for day in (20, 30, 35, 42, 60, 61, 73)]
    lives, again = lives_with(4, *rows), lives_with(4, *reversed(rows))
    assert told(lives, "slot entered left failed") == told(again, "slot entered left failed")


def test_a_piece_just_fitted_is_never_drawn():
    # Slot 1 is changed as given on the day on which two more fail: 2 and 3.
    lives = lives_with(3, change(30, slot=1), change(30, quantity=2))
    assert told(lives, "slot left", failed=True) == [(1, 30), (2, 30), (3, 30)]


def test_before_the_watch_the_oldest_are_taken():
    # Her records begin on day 50: what was changed before sets ages alone.
    lives = lives_with(
        2,
        change(10),
        change(20),
        boats=[{"boat": "Alba", "joined_on": on(50)}],
    )
    assert told(lives, "slot entered") == [(1, 40), (2, 30)]


def test_pieces_changed_as_a_pair_are_two_lives_of_one_age():
    # A literal pair: both belts came off failed on day 30, both at 30 h, both new from then on.
    lives = lives_with(2, change(30, quantity=2))
    assert told(lives, "slot entered left failed row") == [
        (1, 0, 30, True, 2),
        (1, 0, 70, False, 0),
        (2, 0, 30, True, 2),
        (2, 0, 70, False, 0),
    ]


def test_a_change_of_every_piece_assumes_nothing():
    lives = lives_with(3, change(30, quantity=3))
    assert told(lives, "slot left", failed=True) == [(1, 30), (2, 30), (3, 30)]
    assert lives.notes == ()


def test_of_one_day_the_changes_with_a_slot_come_first_then_failures():
    # Slot 1 is given; of the others slot 2 goes to the failure, slot 3 to the planned change.
    lives = lives_with(3, change(30, reason="borrowed"), change(30), change(30, slot=1))
    assert told(lives, "slot reason row", left=30) == [
        (1, "failed", 4),
        (2, "failed", 3),
        (3, "borrowed", 2),
    ]


@pytest.mark.parametrize(
    ("given", "kept", "out"),
    [({"quantity": 4}, 2, 2), ({"slot": 2, "quantity": 3}, 1, 2), ({"slot": 5}, 0, 1)],
)
def test_pieces_beyond_the_positions_are_left_out(given, kept, out):
    lives = lives_with(2, change(30, **given))
    assert len(told(lives, "slot", failed=True)) == kept
    assert tell(lives.left_out, "pieces why") == [(out, "beyond the positions fitted")]
    assert len(notes_on(lives, f"{out} of seal", "beyond the positions fitted")) == 1


def test_the_same_slot_twice_in_a_day_counts_once():
    lives = lives_with(1, change(30), change(30))
    assert told(lives, "left failed row") == [(30, True, 2), (70, False, 0)]
    assert tell(lives.left_out, "row pieces failed") == [(3, 1, True)]
    assert len(notes_on(lives, "failed at fitting or typed twice")) == 1


def test_a_part_that_is_not_fitted_there_is_left_out():
    lives = lives_with(1, change(30, "belt"), parts=[{"part": "seal"}, {"part": "belt"}])
    assert not told(lives, "part", failed=True)
    assert tell(lives.left_out, "row part why") == [(2, "belt", "not fitted to that machine")]
    assert len(notes_on(lives, "1 of belt not fitted")) == 1


def test_a_change_before_the_machine_was_fitted_is_left_out():
    lives = lives_with(1, change(-5))
    assert tell(lives.left_out, "row why") == [(2, "before the machine was fitted")]
    assert len(notes_on(lives, "1 of seal changed before the machine was fitted")) == 1


FITTED = [
    {"model": "M", "part": "seal", "quantity": 1, "consequence": "nuisance"},
    {"model": "M", "part": "seal", "quantity": 2, "machine": "port"},
    {"model": "M", "part": "seal", "quantity": 3, "boat": "Brisa", "consequence": "stops"},
    {"model": "M", "part": "seal", "quantity": 4, "boat": "Brisa", "machine": "port"},
    {"model": "M", "part": "seal", "quantity": 5, "boat": "Cala"},
]


@pytest.mark.parametrize("order", [1, -1])
def test_the_most_specific_row_tells_what_is_fitted(order):
    places = [("Alba", "port"), ("Alba", "starboard"), ("Brisa", "port"), ("Brisa", "starboard")]
    places += [("Cala", "port")]  # her own line holds before the one for every port machine
    lives = lives_of(
        100,
        machines=[
            {"boat": boat, "machine": machine, "model": "M", "fitted_on": on(0)}
            for boat, machine in places
        ],
        readings=[
            engine(boat=boat, machine=machine, read_on=on(0), hours=0) for boat, machine in places
        ],
        fitted=FITTED[::order],
    )
    last = lives.positions.groupby(["boat", "machine"], as_index=False).last()
    assert tell(last, "boat machine slot consequence") == [
        ("Alba", "port", 2, "limits"),
        ("Alba", "starboard", 1, "nuisance"),
        ("Brisa", "port", 4, "limits"),
        ("Brisa", "starboard", 3, "stops"),
        ("Cala", "port", 5, "limits"),
    ]
