from datetime import date

from builders import make_fleet

from stockopt.choices.stock import count_stock

DEPARTS = date(2031, 5, 1)


def count(*rows, due_by=DEPARTS, keeps_until=DEPARTS):
    fleet = make_fleet(
        boats=[{"boat": "Alba", "store": "Shed"}],
        parts=[{"part": "seal"}, {"part": "flare"}],
        stock=[{"place": "Alba", "part": "seal", **row} for row in rows],
    )
    notes = []
    counted = count_stock(fleet.stock, {"Alba": due_by}, {"Alba": keeps_until}, notes)
    return counted, notes


def test_rows_of_a_place_and_part_add_up():
    counted, notes = count({"on_hand": 2, "locker": "A"}, {"on_hand": 3, "locker": "B"})
    assert counted == {("Alba", "seal"): 5}
    assert notes == []


def test_a_piece_counts_up_to_its_last_day():
    counted, notes = count(
        {"on_hand": 2, "expires_on": "2031-05-01"}, {"on_hand": 4, "expires_on": "2031-04-30"}
    )
    assert counted == {("Alba", "seal"): 2}
    (note,) = notes
    assert (note.table, note.row, note.column) == ("stock", 3, "expires_on")
    assert "4 x seal for Alba not counted" in note.text


def test_pieces_on_order_count_when_due_by_the_departure():
    counted, notes = count(
        {"on_hand": 1, "on_order": 2, "due_on": "2031-05-01"},
        {"on_order": 4, "due_on": "2031-05-02"},
        {"on_order": 8},
    )
    assert counted == {("Alba", "seal"): 3}
    assert [(note.row, note.column) for note in notes] == [(3, "due_on"), (4, "due_on")]


def test_other_places_are_left_out():
    counted, notes = count({"place": "Shed", "on_hand": 2})
    assert counted == {}
    assert notes == []
