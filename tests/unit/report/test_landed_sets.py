"""Sets in the comparison of local shops with mail order, as they are shown."""

import json

import pytest
from landed_builders import NOTHING_NEEDED, make_market_fleet
from printed import printed

from stockopt.landed.compare import compare_sources
from stockopt.report.landed_files import landed_keys
from stockopt.report.landed_sheets import landed_sheets
from stockopt.report.landed_table import print_landed
from stockopt.report.landed_words import pick_compared
from stockopt.report.run import Compared


@pytest.fixture
def with_a_set():
    fleet = make_market_fleet(
        parts=[{"part": "belt", "name": "Belt, alternator"}, {"part": "seal"}],
        sources=[
            {"source": "Quay", "kind": "local"},
            {"source": "Post [x]", "kind": "mail", "lead_days": 10},
        ],
        prices=[
            {"source": "Quay", "part": "belt", "price": 40},
            {"source": "Quay", "part": "seal", "price": 5},
            {"source": "Post [x]", "part": "KIT", "price": 30},
        ],
        kits=[{"kit": "KIT", "part": "belt"}, {"kit": "KIT", "part": "seal", "quantity": 2}],
    )
    landed = compare_sources(NOTHING_NEEDED, fleet, ["Porto"], {"Porto": {"belt": 2, "seal": 3}})
    return Compared(fleet=fleet, landed=landed, notes=())


def test_a_set_stands_beside_its_parts_bought_one_by_one(with_a_set):
    text = printed(print_landed, with_a_set, None)
    assert all(len(line.rstrip()) <= 80 for line in text.splitlines())
    words = " ".join(text.split())
    assert "KIT, Post [x] 30.00 50.00 20.00 2" in words
    assert "KIT holds 1 x belt, 2 x seal." in words
    words = " ".join(printed(print_landed, with_a_set, "belt").split())
    assert (
        "In a set: KIT from Post [x] (1 x belt, 2 x seal). 2 sets for 2 pieces of it: 60.00 EUR "
        "before the charges of an order, 2 x belt, 3 x seal one by one 95.00 EUR. Left over: "
        "1 x seal."
    ) in words
    assert "KIT holds" not in words


def test_what_is_left_over_of_one_pack_is_told():
    fleet = make_market_fleet(
        parts=[{"part": "belt"}, {"part": "seal"}],
        sources=[{"source": "Quay", "kind": "local"}],
        prices=[
            {"source": "Quay", "part": "belt", "price": 40},
            {"source": "Quay", "part": "KIT", "price": 30, "pack": 2},
        ],
        kits=[{"kit": "KIT", "part": "belt"}, {"kit": "KIT", "part": "seal", "quantity": 2}],
    )
    landed = compare_sources(NOTHING_NEEDED, fleet, ["Porto"], {"Porto": {"belt": 1, "seal": 1}})
    words = " ".join(
        printed(print_landed, Compared(fleet=fleet, landed=landed, notes=()), None).split()
    )
    assert "KIT, Quay 30.00 1" in words  # nobody sells seals singly
    assert (
        "KIT holds 1 x belt, 2 x seal, in packs of 2; of one pack left over: 1 x belt, 3 x seal."
    ) in words
    assert "Nobody sells there" not in words


def test_a_set_can_be_asked_for_by_its_number(with_a_set):
    assert pick_compared(with_a_set.landed, with_a_set.fleet, "kit") == "KIT"
    words = " ".join(printed(print_landed, with_a_set, "KIT").split())
    assert "KIT, Post [x] 30.00 50.00 20.00 2" in words
    assert "In a set" not in words


def test_sets_in_the_workbook_and_the_json(with_a_set):
    sheet, _ = landed_sheets(with_a_set.landed, "EUR")
    rows = [row.cells for row in sheet.tables[-1].rows]
    both = (2, 60.0, 95.0, 35.0, None, "mail order", "2 x belt, 3 x seal; 1 x seal")
    words = "as many as the basket wants, in KIT"
    one = (1, 30.0, 50.0, 20.0, 2, "mail order", "1 x belt, 2 x seal; nothing")
    assert rows == [
        ("KIT", "Post [x]: 1 x belt, 2 x seal", *one),
        ("belt", words, *both),
        ("seal", words, *both),
    ]
    split = sheet.tables[0].rows[-1].cells
    assert (split[1], split[-2], split[-1]) == ("Post [x], parts: 2", 60.0, 6)
    (port,) = json.loads(json.dumps(landed_keys(with_a_set, None)))["ports"]
    (one,) = port["sets"]
    assert (one["set"], one["landed"], one["one_by_one"], one["in_split"]) == ("KIT", 30, 50, 2)
    assert one["contents"] == [{"part": "belt", "pieces": 1}, {"part": "seal", "pieces": 2}]
    assert [part["left"] for part in one["parts"]] == 2 * [[{"part": "seal", "pieces": 1}]]
    (line,) = port["ways"][-1]["orders"][0]["lines"]
    assert (line["part"], line["packs"], line["contents"]) == ("KIT", 2, one["contents"])
    (port,) = json.loads(json.dumps(landed_keys(with_a_set, "seal")))["ports"]
    assert [one["set"] for one in port["sets"]] == ["KIT"]
