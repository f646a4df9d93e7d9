"""The sheet "Store levels" and its keys, from lines made by hand."""

from datetime import date

from report_builders import make_run, make_store_line

from stockopt.choices.dead_line import DeadStock
from stockopt.program.solution import Rounds
from stockopt.report.json_file import plan_keys
from stockopt.report.stores import store_sheets

BARE = make_store_line(
    "belt", level=0, source="", reorder_point=0, order_quantity=0, last_order_on=None, buy=0
)
DEAD = DeadStock(
    place="Shed", part="oar", name="Oar", pieces=3, money=75.0, why="no machine uses it"
)
ROUNDS = Rounds(number=3, fill_rate=0.02, days=0.04, cost=1.0, agreed=True)


def test_each_store_has_its_table_with_sums():
    run = make_run(stores=(BARE, make_store_line()), rounds=ROUNDS)
    (sheet,) = store_sheets(run)
    (table,) = sheet.tables
    assert table.heading == "Shed"
    titles = [column.title for column in table.columns]
    # What is kept stands first, whatever its name.
    assert [row.look for row in table.rows] == ["group", "plain", "group", "plain", "total"]
    seal, belt, total = (
        dict(zip(titles, row.cells, strict=True)) for row in table.rows if row.look != "group"
    )
    assert (belt["Source"], belt["Reorder at"], belt["Quantity"]) == ("buy when needed", None, None)
    assert (seal["Source"], seal["Reorder at"], seal["Quantity"]) == ("Far", 1, 3)
    assert (seal["Last order"], seal["On the shelf"]) == (date(2031, 9, 1), 0.96)
    assert (total["In stock"], total["Level"], total["Buy for it"]) == (8, 5, 2)
    assert any("agree after 3 rounds" in line for line in sheet.lead)
    assert any("0.0 days" in line and "2 %" in line for line in sheet.lead)


def test_rounds_that_did_not_agree_say_so():
    rounds = Rounds(number=5, fill_rate=0.3, days=2.5, cost=40.0, agreed=False)
    (sheet,) = store_sheets(make_run(stores=(make_store_line(),), rounds=rounds))
    assert any("do not fully agree after 5 rounds" in line for line in sheet.lead)


def test_two_stores_two_tables():
    run = make_run(stores=(make_store_line(store="Barn"), make_store_line()))
    assert [table.heading for table in store_sheets(run)[0].tables] == ["Barn", "Shed"]


def test_what_is_ordered_on_the_first_day_is_told_with_its_money_beyond_the_budget():
    lines = (make_store_line("belt", level=1), make_store_line())
    (sheet,) = store_sheets(make_run(stores=lines))
    (told,) = (line for line in sheet.lead if "first day" in line)
    assert "3 x belt from Far for Shed. The money" in told
    assert "seal" not in told
    (other,) = store_sheets(make_run(stores=lines[1:]))
    assert not any("first day" in line for line in other.lead)


def test_what_comes_from_a_boat_stands_beside_the_name_and_in_the_keys():
    line = make_store_line(moved_in=2, moved_from=(("Heron", 2),))
    run = make_run(stores=(line,))
    rows = store_sheets(run)[0].tables[0].rows
    assert rows[0].cells[1] == "seal of something; 2 from Heron"
    assert plan_keys(run)["stores"][0]["moved_from"] == [{"place": "Heron", "pieces": 2}]


def test_dead_stock_stands_below_with_the_money_in_it():
    (sheet,) = store_sheets(make_run(stores=(make_store_line(),), dead_stock=(DEAD, DEAD)))
    dead = sheet.tables[-1]
    assert dead.heading == "Dead stock"
    assert dead.rows[0].cells == ("oar", "Oar", 3, "Shed", "no machine uses it", 75.0)
    assert dead.rows[-1].cells[-1] == 150.0


def test_without_a_store_there_is_a_sheet_only_for_dead_stock():
    assert store_sheets(make_run()) == []
    (sheet,) = store_sheets(make_run(dead_stock=(DEAD,)))
    assert sheet.name == "Dead stock"


def test_keys_of_stores_rounds_and_dead_stock():
    keys = plan_keys(make_run(stores=(make_store_line(),), rounds=ROUNDS, dead_stock=(DEAD,)))
    (store,) = keys["stores"]
    assert (store["level"], store["reorder_point"], store["order_quantity"]) == (5, 1, 3)
    assert (store["last_order_on"], store["capital"]) == ("2031-09-01", 80.0)
    assert keys["rounds"] == {
        "number": 3,
        "agreed": True,
        "fill_rate": 0.02,
        "days": 0.04,
        "held": 0,
    }
    assert keys["dead_stock"] == [
        {
            "place": "Shed",
            "part": "oar",
            "name": "Oar",
            "pieces": 3,
            "money": 75.0,
            "why": "no machine uses it",
        }
    ]
