"""From what happened to the rows it changes."""

from datetime import date

import pytest
from builders import make_sheet
from fleet_builders import SETTINGS, make_fleet, sound_tables

from stockopt.books.entries import make_entries
from stockopt.books.events import Count, Receive, Use
from stockopt.errors import CommandError, StockoptError

DAY = date(2031, 3, 20)
CAME = {"received_on": DAY, "received": 2}


def enter(event, stock=None, **changes):
    tables = {**sound_tables(), **changes}
    if stock is not None:
        tables["stock"] = stock
    sheets = {name: make_sheet(name, rows) for name, rows in tables.items() if rows}
    return make_entries(event, make_fleet(settings=SETTINGS, **tables), sheets)


def use(**changes):
    given = {"boat": "Alba", "machine": "port engine", "part": "B-2", "quantity": 1, "on": DAY}
    return Use(**{**given, "reason": "failed", **changes})


def receive(**changes):
    return Receive(**{"place": "Shed", "part": "B-2", "quantity": 2, "on": DAY, **changes})


def count(**changes):
    return Count(**{"place": "Shed", "part": "B-2", "on_hand": 2, "on": DAY, **changes})


def told(entries):
    return [(entry.table, entry.row, dict(entry.cells)) for entry in entries.entries]


def row(place="Alba", part="B-2", on_hand=1, **more):
    return {"place": place, "part": part, "on_hand": on_hand, **more}


def test_a_use_is_recorded_and_drawn_from_the_boat():
    made = enter(use(boat="ALBA", part="b-2", hours=150.5, note="snapped", slot=2))
    record, stock = told(made)
    assert record == (
        "replacements",
        None,
        {
            "on": DAY,
            "boat": "Alba",
            "machine": "port engine",
            "part": "B-2",
            "quantity": 1,
            "hours": 150.5,
            "reason": "failed",
            "slot": 2,
            "note": "snapped",
            "taken_off": "boat",
        },
    )
    assert stock == ("stock", 3, {"on_hand": 0})
    assert made.entries[1].before == {"on_hand": "1"}


def test_the_day_of_the_count_stays():
    made = enter(use(), [row(on_hand=3, counted_on="2031-03-01")])
    assert told(made)[1] == ("stock", 2, {"on_hand": 2})


def test_what_was_counted_later_knows_of_it():
    made = enter(use(), [row(on_hand=3, counted_on="2031-03-21")])
    assert len(made.entries) == 1
    assert "counted on 2031-03-21, after this change" in made.remarks[0]
    assert told(made)[0][2]["taken_off"] == "boat"


def test_pieces_that_expire_first_are_taken_first():
    stock = [
        row(on_hand=2),
        row(on_hand=1, expires_on="2032-01-01"),
        row(on_hand=1, expires_on="2031-09-01"),
    ]
    assert told(enter(use(quantity=3), stock))[1:] == [
        ("stock", 4, {"on_hand": 0}),
        ("stock", 3, {"on_hand": 0}),
        ("stock", 2, {"on_hand": 1}),
    ]


def test_more_than_the_books_hold_is_refused():
    with pytest.raises(StockoptError, match=r"2 x B-2 cannot come from Alba: the books have 1"):
        enter(use(quantity=2))


def test_a_place_without_books_gives_nothing():
    made = enter(use(boat="Brisa", machine="engine"))
    assert len(made.entries) == 1
    assert "No stock of B-2 at Brisa is in the books" in made.remarks[0]
    assert "taken_off" not in told(made)[0][2]


def test_from_her_store_or_from_no_stock():
    record, stock = told(enter(use(part="seven", drawn_from="store")))
    assert record[2]["taken_off"] == "store"
    assert stock[:2] == ("stock", 2)
    ((_, _, cells),) = told(enter(use(drawn_from="")))
    assert cells["taken_off"] == "none"
    boats = [{"boat": "Alba", "home_port": "Hafen"}, {"boat": "Brisa", "store": "Shed"}]
    with pytest.raises(CommandError, match="no store serves Alba"):
        enter(use(drawn_from="store"), boats=boats)


def test_other_numbers_of_a_part_are_the_same_part():
    parts = [*sound_tables()["parts"], {"part": "OLD-2", "name": "Belt", "replaced_by": "B-2"}]
    made = enter(use(), [row(part="old-2", on_hand=1)], parts=parts)
    assert told(made)[1] == ("stock", 2, {"on_hand": 0})
    made = enter(use(part="OLD-2"), [row(on_hand=1)], parts=parts)
    assert told(made)[0][2]["part"] == "OLD-2"
    assert told(made)[1] == ("stock", 2, {"on_hand": 0})


def test_unknown_names_are_told_with_the_nearest():
    with pytest.raises(CommandError) as caught:
        enter(use(machine="prt engine", part="B2"))
    assert caught.value.wrong == (
        "--part: there is no part 'B2': is 'B-2' meant?",
        "--machine: there is no machine of Alba 'prt engine': is 'port engine' meant?",
    )
    with pytest.raises(CommandError, match="there is no boat or store 'Shedd': is 'Shed' meant"):
        enter(receive(place="Shedd"))
    with pytest.raises(CommandError, match="there is no source 'Pots'"):
        enter(receive(source="Pots"))


def test_a_delivery_comes_off_the_order_due_first():
    stock = [
        row("Shed", on_hand=1, on_order=4, due_on="2031-06-01"),
        row("Shed", on_hand=0, on_order=1, due_on="2031-05-01"),
    ]
    made = enter(receive(quantity=3), stock)
    assert told(made) == [
        ("stock", 2, {"on_order": 2}),
        ("stock", 3, {"on_order": 0, "due_on": "", "on_hand": 3, **CAME, "received": 3}),
    ]
    assert made.remarks == ()


def test_what_was_not_on_order_is_added_and_said():
    made = enter(receive(quantity=3), [row("Shed", on_order=1)])
    assert told(made) == [("stock", 2, {"on_order": 0, "on_hand": 4})]
    assert made.remarks == ("2 x B-2 were not on order for Shed.",)
    assert told(enter(receive(), [])) == [
        ("stock", None, {"place": "Shed", "part": "B-2", "on_hand": 2, **CAME})
    ]


def test_pieces_of_another_expiry_lie_in_a_row_of_their_own():
    stock = [row("Shed", on_hand=1, on_order=2, expires_on="2031-05-01")]
    assert told(enter(receive(expires_on=date(2033, 1, 1)), stock)) == [
        ("stock", 2, {"on_order": 0}),
        (
            "stock",
            None,
            {
                "place": "Shed",
                "part": "B-2",
                "on_hand": 2,
                "expires_on": date(2033, 1, 1),
                **CAME,
            },
        ),
    ]


def test_a_shelf_life_says_until_when_they_keep():
    parts = sound_tables()["parts"]
    parts[1]["shelf_life_days"] = 365
    made = enter(receive(), [row("Shed", on_hand=0, on_order=2)], parts=parts)
    assert told(made) == [
        ("stock", 2, {"on_order": 0, "on_hand": 2, **CAME, "expires_on": date(2032, 3, 19)})
    ]
    assert "shelf life is 365 days" in made.remarks[0]


def test_a_count_is_written_on_the_row_meant():
    stock = [row("Shed", on_hand=5, locker="A"), row("Shed", on_hand=1, locker="B")]
    assert told(enter(count(locker="b"), stock)) == [
        ("stock", 3, {"on_hand": 2, "counted_on": DAY})
    ]
    with pytest.raises(StockoptError, match=r"lies in 2 rows.*\n\n  row 2: 5 in hand, locker A"):
        enter(count(), stock)
    assert told(enter(count(locker="C", on_hand=0), stock))[0][1] is None


def test_a_count_never_replaces_a_later_one():
    with pytest.raises(StockoptError, match="was counted later, on 2031-03-25"):
        enter(count(), [row("Shed", counted_on="2031-03-25")])


def test_what_came_lies_beside_what_was_counted_on_another_day():
    stock = [row("Shed", on_hand=1, on_order=2, locker="A", counted_on="2031-03-01")]
    new = {"place": "Shed", "part": "B-2", "on_hand": 2, "locker": "A", **CAME}
    made = enter(receive(), stock)
    assert told(made) == [("stock", 2, {"on_order": 0}), ("stock", None, new)]
    assert told(enter(receive(), [row("Shed", counted_on=DAY)]))[0][1] is None
    # More of the same day, or what lies on an empty shelf, needs no row of its own.
    came = row("Shed", on_hand=1, received_on=DAY, received=3)
    assert told(enter(receive(), [came])) == [
        ("stock", 2, {"on_hand": 3, "received_on": DAY, "received": 5})
    ]
    empty = row("Shed", on_hand=0, counted_on="2031-03-01")
    assert told(enter(receive(), [empty])) == [("stock", 2, {"on_hand": 2, **CAME})]
    # What was used of an older delivery is remembered.
    used = row("Shed", on_hand=0, received_on="2031-03-10", received=2)
    assert told(enter(receive(), [used]))[0][1] is None


@pytest.mark.parametrize(
    ("counted", "added"),
    [
        ({}, False),
        ({"expires_on": "2033-01-01"}, False),
        ({"locker": "A"}, False),
        ({"counted_on": "2031-03-20"}, True),
    ],
)
def test_a_later_count_knows_of_what_came_before_it(counted, added):
    stock = [row("Shed", **{"on_order": 2, "counted_on": "2031-03-21", **counted})]
    made = enter(receive(), stock)
    assert told(made)[0] == ("stock", 2, {"on_order": 0})
    assert (len(made.entries) == 2) == added
    assert any("was counted on 2031-03-21, after they came" in one for one in made.remarks) != added


def test_a_later_count_elsewhere_does_not_know_of_it():
    elsewhere = row("Shed", locker="A", counted_on="2031-03-21")
    assert told(enter(receive(locker="B"), [elsewhere]))[0][2]["on_hand"] == 2
    other = row("Shed", expires_on="2031-05-01", counted_on="2031-03-21")
    assert told(enter(receive(expires_on=date(2033, 1, 1)), [other]))[0][2]["on_hand"] == 2


def test_rows_of_one_locker_and_expiry_are_counted_together():
    stock = [
        row("Shed", on_hand=1, received_on="2031-03-10", received=4),
        row("Shed", on_hand=3, counted_on="2031-03-01"),
        row("Shed", on_hand=2, received_on="2031-03-25", received=2),
    ]
    made = enter(count(on_hand=9), stock)
    assert told(made) == [
        ("stock", 2, {"on_hand": 0, "counted_on": DAY, "received_on": "", "received": ""}),
        ("stock", 3, {"on_hand": 9, "counted_on": DAY}),
    ]
    assert made.remarks == ("2 that came later, on 2031-03-25, are left as they are.",)


@pytest.mark.parametrize(
    ("taken_off", "on", "place", "refused"),
    [
        ("boat", "2031-03-21", "Alba", True),
        ("boat", "2031-03-20", "Alba", False),
        ("store", "2031-03-21", "Shed", True),
        ("store", "2031-03-21", "Alba", False),
        ("none", "2031-03-21", "Alba", False),
    ],
)
def test_a_count_does_not_put_back_what_was_used_after_it(taken_off, on, place, refused):
    change = {"on": on, "boat": "Alba", "machine": "port engine", "part": "b-2"}
    tables = {
        "stock": [row(place, counted_on="2031-03-01")],
        "replacements": [{**change, "taken_off": taken_off}],
    }
    if not refused:
        assert told(enter(count(place=place), **tables))[0][2]["on_hand"] == 2
        return
    with pytest.raises(StockoptError, match=r"1 x B-2 came off .* \(replacements, row 2\)"):
        enter(count(place=place), **tables)


def test_what_came_later_is_used_last_and_what_a_count_knows_not_at_all():
    came = row(on_hand=2, received_on="2031-03-25", received=2)
    assert told(enter(use(quantity=2), [came, row(on_hand=1, counted_on="2031-03-01")]))[1:] == [
        ("stock", 3, {"on_hand": 0}),
        ("stock", 2, {"on_hand": 1}),
    ]
    counted = row(on_hand=2, locker="A", counted_on="2031-03-21")
    made = enter(use(quantity=2), [came, counted, row(on_hand=1, counted_on="2031-03-01")])
    assert told(made)[1:] == [("stock", 4, {"on_hand": 0})]
    assert "after this change: only 1 drawn" in made.remarks[0]
