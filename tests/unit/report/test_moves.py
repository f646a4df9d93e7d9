"""What the lists say of pieces that are moved, used up, out of date, met, or made up on the way."""

from dataclasses import replace
from datetime import date

import pandas as pd
from report_builders import make_carry, make_order, make_run

from stockopt.choices.choices import Stop
from stockopt.report.json_file import plan_keys
from stockopt.report.moves import move_keys, tell_moves, way_tables
from stockopt.report.stow import stow_sheets

LINE = make_carry(
    "Heron",
    "IMP-1",
    carry=1,
    on_hand=2,
    moved=3,
    moved_from=(("Base store", 1), ("Osprey / west", 2)),
    used_up=1,
    given=1,
    own_left=1,
    ahead=2,
    ahead_at="Horta",
    ahead_on=date(2031, 6, 1),
    restock=True,
    restock_at=(
        Stop(port="Horta", price=12.5, quoted=True, premium=0.25),
        Stop(port="Isla", price=20.0, quoted=False, premium=1.0),
    ),
)


def test_beside_the_name_stands_what_her_own_stock_does_not_show():
    told = tell_moves(LINE, "Base store").name.removeprefix(LINE.name)
    assert told == (
        "; 2 from Osprey / west; 1 used up with another change; 1 for another boat or a store; "
        "leave ashore 1 piece that will be out of date; mass counts the 2 that meet her in Horta"
    )
    assert tell_moves(make_carry("Heron", "IMP-1"), "Base store") == make_carry("Heron", "IMP-1")


def test_what_meets_her_and_what_is_made_up_have_tables_of_their_own():
    order = make_order("IMP-1", place="Heron in Horta", order_by=date(2031, 5, 12))
    met, stops = way_tables([LINE, make_carry("Heron", "SEAL-7")], (order,), "EUR")
    (row,) = met.rows
    assert row.cells[1:] == (
        "IMP-1",
        LINE.name,
        2,
        "Horta",
        date(2031, 6, 1),
        date(2031, 5, 12),
        None,
    )
    assert [(row.cells[0], *row.cells[3:]) for row in stops.rows] == [
        ("Horta", 1, 12.5, 1.25, "quoted", None),
        ("Isla", 1, 20.0, 2.0, "estimated", None),
    ]
    for table in (met, stops):
        assert all(len(row.cells) == len(table.columns) for row in table.rows)
        assert sum(column.span for column in table.columns) == 13
    assert way_tables([make_carry("Heron", "SEAL-7")], (), "EUR") == ()


def test_a_stow_list_adds_up_with_what_is_moved_and_used_up():
    run = make_run()
    run = replace(run, plan=replace(run.plan, carry=(LINE,), orders=()))
    sheet = next(sheet for sheet in stow_sheets(run) if sheet.name == "Stow Heron")
    titles = [column.title for column in sheet.tables[0].columns]
    (row,) = (row for row in sheet.tables[0].rows if "IMP-1" in row.cells)
    cells = dict(zip(titles, row.cells, strict=True))
    came = sum(cells[name] or 0 for name in ("Aboard or due", "From store", "From order"))
    went = sum(cells[name] or 0 for name in ("Carry", "Fit now", "To shore"))
    assert came == went + LINE.used_up + LINE.given
    assert len(sheet.tables) == 3
    for table in sheet.tables[1:]:  # what is said beside the name belongs to the list to stow
        assert {row.cells[2] for row in table.rows} == {LINE.name}


def test_a_date_to_use_by_is_not_shown_for_what_stays_ashore():
    run = make_run()
    stock = run.fleet.stock.assign(expires_on=pd.Timestamp("2031-06-01"))
    run = replace(run, fleet=replace(run.fleet, stock=stock))
    old = next(
        line
        for line in run.plan.carry
        if line.on_hand and ((stock["place"] == line.boat) & (stock["part"] == line.part)).any()
    )
    for own_left, shown in ((0, date(2031, 6, 1)), (old.on_hand, None)):
        left = replace(run, plan=replace(run.plan, carry=(replace(old, own_left=own_left),)))
        sheet = next(each for each in stow_sheets(left) if each.name == f"Stow {old.boat}")
        (row,) = (row for row in sheet.tables[0].rows if old.part in row.cells)
        assert row.cells[-2] == shown


def test_the_json_has_it_all():
    keys = move_keys(LINE)
    assert keys["moved_from"] == [
        {"place": "Base store", "pieces": 1},
        {"place": "Osprey / west", "pieces": 2},
    ]
    assert (keys["used_up"], keys["given"], keys["own_left"]) == (1, 1, 1)
    assert (keys["ahead"], keys["ahead_at"], keys["ahead_on"]) == (2, "Horta", "2031-06-01")
    assert keys["restock_at"][1] == {
        "port": "Isla",
        "price": 20.0,
        "quoted": False,
        "premium": 1.0,
    }
    plan = plan_keys(make_run())
    assert all(keys.keys() <= line.keys() for line in plan["carry"])
