"""Each order as a CSV file: harmless, whole, never over a file unless told to."""

import csv

import pytest
from order_builders import orders_of_plan
from report_builders import make_order, make_plan, make_run

from stockopt.report.order_files import (
    HEADINGS,
    harmless,
    list_order_files,
    refuse_orders,
    write_order,
)
from stockopt.report.write import write_report
from stockopt.units import Measures


def read(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file))


def test_an_order_is_written_line_by_line(tmp_path):
    order = make_run().orders.orders[0]
    write_order(order, Measures(), tmp_path / "o.csv")
    headings, *rows = read(tmp_path / "o.csv")
    assert tuple(headings) == (*HEADINGS, "kg")
    (row,) = (dict(zip(headings, cells, strict=True)) for cells in rows)
    assert (row["source"], row["deliver_to"], row["for"]) == ("Far Parts", "Porto", "Base store")
    assert (row["order_by"], row["needed_by"]) == ("2031-04-12", "2031-05-03")
    assert (row["part"], row["packs"], row["pieces"]) == ("SEAL-7", "3", "3")
    assert (row["pack_price"], row["line_price"], row["currency"]) == ("20.0", "60.00", "EUR")
    assert row["kg"] == "1.5"


def test_masses_are_told_in_the_unit_of_the_fleet(tmp_path):
    order = make_run().orders.orders[0]
    write_order(order, Measures(mass="lb"), tmp_path / "o.csv")
    headings, row = read(tmp_path / "o.csv")
    assert (headings[-1], row[-1]) == ("lb", "3.306934")  # 1.5 kg / 0.45359237


@pytest.mark.parametrize("text", ["=1+1", "+SUM(A1)", "-2", "@cmd", " =1", "\t=1", "\r=1", "\n@x"])
def test_no_cell_is_read_as_a_formula(tmp_path, text):
    line = make_order("SEAL-7", name=text, source="Far Parts")
    order = orders_of_plan(make_plan(orders=(line,))).orders[0]
    write_order(order, Measures(), tmp_path / "o.csv")
    _, row = read(tmp_path / "o.csv")
    name = row[HEADINGS.index("name")]
    assert name.startswith("'")
    assert "\n" not in name
    assert harmless("SEAL-7") == "SEAL-7"


def test_every_order_has_a_file_of_its_own_whatever_its_name(tmp_path):
    orders = tuple(
        make_order("SEAL-7", source=source, place=place)
        for source, place in (("A/B", "Shed"), ("A:B", "Shed"), ("a-b", "shed"), ("../up", "Shed"))
    )
    files = list_order_files(make_run(orders=orders, charges=()), tmp_path)
    names = [path.name.casefold() for _, path, _ in files]
    assert len(set(names)) == 4
    assert all(path.parent == tmp_path for _, path, _ in files)


def test_orders_go_with_the_report_or_not_at_all(tmp_path):
    folder, report = tmp_path / "orders", tmp_path / "r.xlsx"
    written = write_report(
        make_run(), workbook=report, json_file=None, orders=folder, overwrite=False
    )
    assert [what for what, _ in written] == ["Report", "Order", "Order"]
    assert len(list(folder.iterdir())) == 2
    first = next(iter(sorted(folder.iterdir())))
    before = first.read_bytes()
    report.unlink()
    with pytest.raises(FileExistsError):
        write_report(make_run(), workbook=report, json_file=None, orders=folder, overwrite=False)
    assert not report.exists()
    assert first.read_bytes() == before
    write_report(make_run(), workbook=report, json_file=None, orders=folder, overwrite=True)
    assert report.exists()


def test_folders_that_orders_may_not_go_to_are_refused_beforehand(tmp_path):
    fleet = tmp_path / "fleet"
    fleet.mkdir()
    (fleet / "parts.csv").write_text("part\n", encoding="utf-8")
    full = tmp_path / "full"
    full.mkdir()
    (full / "old.csv").write_text("x", encoding="utf-8")
    assert refuse_orders(fleet, tmp_path / "new", overwrite=False) is None
    assert "tables" in refuse_orders(fleet, fleet, overwrite=True)
    assert "is a file" in refuse_orders(fleet, fleet / "parts.csv", overwrite=True)
    assert "no folder" in refuse_orders(fleet, tmp_path / "a" / "b", overwrite=False)
    assert "--overwrite" in refuse_orders(fleet, full, overwrite=False)
    assert refuse_orders(fleet, full, overwrite=True) is None
