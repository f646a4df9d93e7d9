"""The comparison of local shops with mail order, as it is shown."""

import json

import openpyxl
import pytest
from landed_builders import NOTHING_NEEDED, make_market_fleet
from printed import printed

from stockopt.errors import StockoptError
from stockopt.landed.compare import compare_sources
from stockopt.report.landed_files import landed_study
from stockopt.report.landed_sheets import landed_sheets
from stockopt.report.landed_table import print_landed
from stockopt.report.landed_words import pick_compared
from stockopt.report.run import Compared
from stockopt.report.study_files import write_study


@pytest.fixture
def compared():
    fleet = make_market_fleet(
        parts=[{"part": "belt", "name": "Belt, alternator"}, {"part": "seal"}, {"part": "rope"}],
        sources=[
            {"source": "Quay", "kind": "local"},
            {"source": "Post [x]", "kind": "mail", "lead_days": 10, "handling": 45},
        ],
        prices=[
            {"source": "Quay", "part": "belt", "price": 40},
            {"source": "Post [x]", "part": "belt", "price": 10},
            {"source": "Post [x]", "part": "seal", "price": 5.05, "pack": 2},
        ],
    )
    pieces = {"Porto": {"belt": 4, "seal": 3, "rope": 1}}
    landed = compare_sources(NOTHING_NEEDED, fleet, ["Porto"], pieces)
    return Compared(fleet=fleet, landed=landed, notes=())


def test_terminal_fits_80_columns_and_says_what_matters(compared):
    text = printed(print_landed, compared, None)
    assert all(len(line.rstrip()) <= 80 for line in text.splitlines())
    words = " ".join(text.split())
    assert "Post [x]" in words
    assert "An order of that mix pays from 2 pieces on, which is 20.00 EUR of goods there" in words
    assert "Nobody sells there: rope." in words
    assert "Duty is 0 in the tables for Post [x]." in words
    assert "check it with customs or your agent" in words


def test_one_part_is_shown_from_every_source(compared):
    words = " ".join(printed(print_landed, compared, "belt").split())
    assert "belt Belt, alternator" in words
    assert "Landed 75.93 160.00" in words  # 40.00 and 45.00 x 40.00 / 50.10 = 35.93 of charges
    assert "pays by mail from 2 pieces on" in words
    assert "seal" not in words


def test_a_part_is_found_in_any_capitals_and_else_near_ones_are_named(compared):
    assert pick_compared(compared.landed, compared.fleet, " BELT ") == "belt"
    with pytest.raises(StockoptError, match="No basket holds a part 'belts'; near it: belt"):
        pick_compared(compared.landed, compared.fleet, "belts")


def test_sheet_adds_up_and_has_charts(compared, tmp_path):
    ways = landed_sheets(compared.landed, "EUR")[0].tables[0]
    for row in ways.rows:
        if row.look == "plain":
            assert row.cells[8] == pytest.approx(sum(row.cells[2:8]), abs=1e-9)
    study = landed_study(compared, None)
    write_study(study, workbook=tmp_path / "l.xlsx", json_file=None, overwrite=False)
    page = openpyxl.load_workbook(tmp_path / "l.xlsx")["Local or mail order"]
    assert len(page._charts) == 2  # openpyxl has no public name for what it has read
    assert "customs" in " ".join(str(cell.value) for row in page for cell in row if cell.value)


def test_json_tells_cents_and_every_line(compared, tmp_path):
    file = tmp_path / "l.json"
    write_study(landed_study(compared, "seal"), workbook=None, json_file=file, overwrite=False)
    keys = json.loads(file.read_text(encoding="utf-8"))
    (port,) = keys["ports"]
    (seal,) = port["parts"]
    (source,) = seal["sources"]
    assert (source["pieces"], source["goods"], source["charges"]) == (4, 10.1, 9.07)
    assert source["landed"] == 19.17
    assert [(line["packs"], line["pack"]) for line in source["lines"]] == [(2, 2)]
    assert {way["way"] for way in port["ways"]} == {"local", "mail order", "cheapest split"}
    assert port["no_offer"] == ["rope"]
