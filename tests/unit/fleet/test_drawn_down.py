"""What was changed since a count is taken off it: her own spares first, then her store's."""

import pandas as pd
import pytest
from builders import make_fleet

BOATS = [
    {"boat": "Alba", "store": "Shed"},
    {"boat": "Brisa", "store": "Shed"},
    {"boat": "Cala"},
]


def stock_after(stock, *changes):
    fleet = make_fleet(
        boats=BOATS,
        machines=[{"boat": b["boat"], "machine": "engine", "model": "M"} for b in BOATS],
        parts=[{"part": "seal", "clock": "days"}, {"part": "belt", "clock": "days"}],
        fitted=[{"model": "M", "part": part, "quantity": 4} for part in ("seal", "belt")],
        replacements=[
            {"on": on, "boat": boat, "machine": "engine", "part": part, "quantity": quantity}
            for on, boat, part, quantity in changes
        ],
        stock=stock,
    )
    notes = [note.text for note in fleet.notes if note.column == "counted_on"]
    return fleet.stock["on_hand"].sort_index().tolist(), notes


def row(place, on_hand, counted_on="2031-03-01", part="seal", **more):
    return {"place": place, "part": part, "on_hand": on_hand, "counted_on": counted_on, **more}


def test_her_own_first_then_her_store_s():
    stock = [row("Alba", 1), row("Shed", 5), row("Brisa", 2)]
    left, notes = stock_after(stock, ("2031-03-10", "Alba", "seal", 3))
    assert left == [0, 3, 2]
    assert notes == [
        "1 x seal at Alba taken off: changed since the count, last on 2031-03-10",
        "2 x seal at Shed taken off: changed since the count, last on 2031-03-10",
    ]


@pytest.mark.parametrize(
    ("counted_on", "left"), [("2031-03-09", 2), ("2031-03-10", 3), ("2031-03-11", 3), (None, 3)]
)
def test_only_changes_after_the_count_count(counted_on, left):
    found, _ = stock_after([row("Alba", 3, counted_on)], ("2031-03-10", "Alba", "seal", 1))
    assert found == [left]


def test_pieces_that_expire_first_go_first_and_none_goes_below_nothing():
    stock = [
        row("Shed", 1, expires_on="2033-01-01"),
        row("Shed", 1, expires_on="2032-01-01"),
        row("Shed", 1),
    ]
    assert stock_after(stock, ("2031-03-10", "Brisa", "seal", 2))[0] == [0, 0, 1]
    assert stock_after(stock, ("2031-03-10", "Brisa", "seal", 4))[0] == [0, 0, 0]


def test_other_parts_boats_and_stores_keep_theirs():
    stock = [row("Alba", 1), row("Shed", 1, part="belt"), row("Shed", 1)]
    assert stock_after(stock, ("2031-03-10", "Cala", "seal", 1)) == ([1, 1, 1], [])


def test_two_boats_draw_on_one_store_in_the_order_of_the_days():
    changes = [("2031-03-12", "Brisa", "seal", 2), ("2031-03-10", "Alba", "seal", 2)]
    left, notes = stock_after([row("Shed", 3)], *changes)
    assert left == [0]
    assert notes == ["3 x seal at Shed taken off: changed since the count, last on 2031-03-12"]
    assert isinstance(pd.Series(left).sum().item(), int)


def came(place, on_hand, received, received_on="2031-03-10", **more):
    told = {"place": place, "part": "seal", "on_hand": on_hand, "received": received}
    return {**told, "received_on": received_on, **more}


@pytest.mark.parametrize(
    ("changed_on", "left"),
    [("2031-03-09", [0, 4, 2]), ("2031-03-10", [0, 1, 5]), ("2031-03-11", [0, 1, 5])],
)
def test_what_came_is_not_used_up_by_what_was_changed_before(changed_on, left):
    stock = [row("Alba", 2), came("Alba", 4, 4), row("Shed", 5)]
    assert stock_after(stock, (changed_on, "Alba", "seal", 5))[0] == left


def test_a_count_on_the_day_they_came_or_later_knows_of_them():
    for counted_on in ("2031-03-10", "2031-03-12"):
        stock = [came("Alba", 4, 4, counted_on=counted_on)]
        assert stock_after(stock, (counted_on, "Alba", "seal", 1)) == ([4], [])
        left, notes = stock_after(stock, ("2031-03-13", "Alba", "seal", 1))
        assert left == [3]
        assert notes == ["1 x seal at Alba taken off: changed since the count, last on 2031-03-13"]
    stock = [came("Alba", 4, 4, counted_on="2031-03-09")]
    left, notes = stock_after(stock, ("2031-03-10", "Alba", "seal", 1))
    assert left == [3]
    assert notes == ["1 x seal at Alba taken off: changed since they came, last on 2031-03-10"]


@pytest.mark.parametrize(
    ("gone", "booked_on", "left"),
    [
        # The books took a later change off the row that this change had emptied.
        (0, "2031-03-12", [0, 3]),
        # They took it off what had come: that row is as it is.
        (1, "2031-03-12", [0, 3]),
        # It was changed before they came: it has nothing of them.
        (0, "2031-03-09", [0, 4]),
    ],
)
def test_a_later_change_booked_off_the_older_row_had_its_piece_from_what_came(
    gone, booked_on, left
):
    fleet = make_fleet(
        boats=BOATS,
        machines=[{"boat": "Alba", "machine": "engine", "model": "M"}],
        parts=[{"part": "seal", "price": 10, "clock": "days"}],
        fitted=[{"model": "M", "part": "seal", "quantity": 9}],
        replacements=[
            {"on": on, "boat": "Alba", "machine": "engine", "part": "seal", **more}
            for on, more in (
                ("2031-03-05", {"quantity": 3}),
                (booked_on, {"taken_off": "boat"}),
            )
        ],
        stock=[row("Alba", 1 + gone), came("Alba", 4 - gone, 4)],
    )
    assert fleet.stock["on_hand"].sort_index().tolist() == left


@pytest.mark.parametrize("taken_off", ["boat", "store", "none"])
def test_what_was_taken_off_already_is_not_taken_off_again(taken_off):
    fleet = make_fleet(
        boats=BOATS,
        machines=[{"boat": "Alba", "machine": "engine", "model": "M"}],
        parts=[{"part": "seal", "price": 10, "clock": "days"}],
        fitted=[{"model": "M", "part": "seal"}],
        replacements=[
            {
                "on": "2031-03-10",
                "boat": "Alba",
                "machine": "engine",
                "part": "seal",
                "taken_off": taken_off,
            }
        ],
        stock=[row("Alba", 1), row("Shed", 5)],
    )
    assert sorted(fleet.stock["on_hand"]) == [1, 5]
