"""The sheets of orders: each order by itself, what lateness costs, the calendar."""

from dataclasses import replace
from datetime import date

from report_builders import make_run

from stockopt.orders.orders import NO_ORDERS
from stockopt.report.buy import buy_sheets
from stockopt.report.calendar_sheet import calendar_sheet
from stockopt.report.json_file import plan_keys


def cells(table, look="plain"):
    return [row.cells for row in table.rows if row.look == look]


def test_each_source_has_its_own_sheet_whose_columns_add_up():
    run = make_run()
    _, far, quay = buy_sheets(run)
    assert (far.name, quay.name) == ("Buy, Far Parts", "Buy, Quayside")
    for sheet, total in ((far, 112), (quay, 88)):
        table = sheet.tables[0]
        (summed,) = cells(table, "total")
        lines = cells(table)
        for column in (4, 5, 7, 8, 9, 10, 11, 12):
            assert summed[column] == sum(line[column] for line in lines)
        assert summed[12] == total
        for line in lines:
            assert line[12] == sum(line[7:12])


def test_what_happens_if_it_is_late_stands_below():
    _, far, quay = buy_sheets(make_run())
    late = far.tables[1]
    (heron,) = cells(late)
    assert heron == ("Heron", "2 x SEAL-7", "1 x SEAL-7", "", date(2031, 5, 3), 120.0)
    assert "late 1 time in 10" in late.lead[0]
    assert "12.00 EUR on average" in late.lead[0]
    assert len(quay.tables) == 1


def test_calendar_goes_month_by_month_and_puts_what_has_no_date_last():
    rows = calendar_sheet(make_run()).tables[0].rows
    shown = [(row.look, row.cells[0] if row.look == "group" else row.cells[1]) for row in rows]
    assert shown[:5] == [
        ("group", "2031-04"),
        ("plain", date(2031, 4, 12)),
        ("group", "2031-05"),
        ("plain", date(2031, 5, 1)),
        ("plain", date(2031, 5, 13)),
    ]
    assert shown[5][0] == "group"
    assert shown[6] == ("plain", None)


def test_nothing_to_order_is_said():
    run = replace(make_run(), orders=NO_ORDERS)
    assert calendar_sheet(run).after == ("Nothing to order.",)
    assert [sheet.name for sheet in buy_sheets(run)] == ["Buy"]


def test_json_has_the_orders_and_the_calendar():
    keys = plan_keys(make_run())
    far, quay = keys["purchase_orders"]
    assert (far["source"], far["total"], far["if_late"]["expected_cost"]) == ("Far Parts", 112, 12)
    assert quay["if_late"]["chance"] == 0
    assert far["total"] == sum(line["landed"] for line in far["lines"])
    first, second = keys["calendar"]
    assert (first["early"], first["middle"], first["late"]) == ("2031-06-01", "2031-08-01", None)
    assert second["order_by"] is None
