"""Old numbers, other spellings, and what is made of them."""

import pytest
from builders import make_fleet
from fleet_builders import SETTINGS, sound_tables

from stockopt.errors import Note


@pytest.fixture
def tables():
    """Number 007 was once 005, before that 003."""
    tables = sound_tables()
    tables["parts"] += [
        {"part": "003", "name": "Seal, first", "replaced_by": "005", "price": 9, "kg": 9},
        {"part": "005", "name": "Seal, second", "replaced_by": "007", "kg": 9},
    ]
    return tables


def make(tables):
    return make_fleet(settings=SETTINGS, **tables)


def test_every_table_names_the_number_sold_now(tables):
    tables["replacements"][0]["part"] = "003"
    tables["fitted"][0]["part"] = "005"
    tables["stock"][0]["part"] = "seven"
    tables["prices"][0]["part"] = "005"
    tables["used_with"][0]["with_part"] = "003"
    tables["kits"][0]["part"] = "005"
    tables["aliases"].append({"other": "three", "part": "003"})
    fleet = make(tables)
    assert fleet.parts["part"].tolist() == ["007", "B-2", "G-3"]
    assert fleet.replacements.at[2, "part"] == "007"
    assert fleet.fitted.at[2, "part"] == "007"
    assert fleet.stock.at[2, "part"] == "007"
    assert fleet.prices.at[2, "part"] == "007"
    assert fleet.used_with.at[2, "with_part"] == "007"
    assert fleet.kits.at[2, "part"] == "007"
    assert fleet.aliases["part"].tolist() == ["007", "007"]
    assert fleet.aliases["other"].tolist() == ["seven", "three"]


def test_each_supersession_is_noted_once_and_old_data_fill_nothing(tables):
    del tables["parts"][0]["price"]
    fleet = make(tables)
    assert fleet.parts.loc[2, ["name", "kg"]].tolist() == ["Seal, shaft", 0.1]
    assert fleet.parts["price"].isna().tolist() == [True, False, False]
    text = "is superseded: its records, places and stock count for 007"
    assert fleet.notes == (
        Note(table="parts", row=5, column="replaced_by", text=f"003 {text}"),
        Note(table="parts", row=6, column="replaced_by", text=f"005 {text}"),
    )


def test_a_floor_outlives_the_number_it_was_set_for(tables):
    tables["parts"][3]["carry_at_least"] = 2
    tables["parts"][0]["carry_at_least"] = 1
    fleet = make(tables)
    assert fleet.parts["carry_at_least"].tolist() == [2, 0, 0]
    assert (
        Note(
            table="parts",
            row=2,
            column="carry_at_least",
            text="007: at least 2, as for the number it took the place of",
        )
        in fleet.notes
    )


def test_a_source_that_quotes_both_is_taken_at_the_current_number(tables):
    tables["prices"] += [
        {"source": "Quay", "part": "003", "price": 30},
        {"source": "Quay", "part": "005", "price": 30, "pack": 5},
        {"source": "Post", "part": "003", "price": 28},
        {"source": "Post", "part": "005", "price": 27},
    ]
    fleet = make(tables)
    assert fleet.prices[["source", "part", "price"]].to_numpy().tolist() == [
        ["Post", "007", 27.0],
        ["Post", "B-2", 12.0],
        ["Quay", "007", 40.0],
    ]
    left_out = [note.text for note in fleet.notes if note.table == "prices"]
    assert left_out == [
        "003 left out: Quay quotes 007, which took its place",
        "005 left out: Quay quotes 007, which took its place",
        "003 left out: Post quotes 007, which took its place",
    ]


def test_two_lines_of_a_machine_that_have_become_one_part_are_added(tables):
    tables["fitted"].append({"model": "M1", "part": "003", "quantity": 2, "consequence": "stops"})
    tables["fitted"].append({"model": "M1", "part": "005", "quantity": 4, "boat": "Alba"})
    fleet = make(tables)
    assert fleet.fitted[["part", "quantity", "boat", "consequence"]].to_numpy().tolist() == [
        ["007", 3, "", "stops"],
        ["007", 4, "Alba", ""],
        ["B-2", 2, "", ""],
    ]
    assert (
        Note(
            table="fitted",
            row=2,
            column="part",
            text="rows 2, 4 name one part since its number changed: taken together, quantity 3",
        )
        in fleet.notes
    )


def test_sets_add_up_and_uses_do_not(tables):
    tables["kits"].append({"kit": "K-1", "part": "003", "quantity": 2})
    tables["used_with"].append({"part": "G-3", "with_part": "005", "quantity": 3})
    fleet = make(tables)
    assert fleet.kits["quantity"].tolist() == [3, 2]
    assert fleet.used_with["quantity"].tolist() == [3]


def test_sets_in_stock_or_changed_count_as_their_parts():
    tables = sound_tables()
    tables["kits"].append({"kit": "K-9", "part": "K-1", "quantity": 2})
    tables["kits"].append({"kit": "K-9", "part": "B-2"})
    tables["stock"].append({"place": "Alba", "part": "K-9", "on_hand": 3, "locker": "7"})
    tables["replacements"].append(
        {"on": "2030-07-01", "boat": "Brisa", "machine": "engine", "part": "K-1", "reason": "worn"}
    )
    tables["prices"].append({"source": "Quay", "part": "K-1", "price": 44})
    fleet = make(tables)
    assert fleet.stock.loc[4, ["part", "on_hand", "locker"]].to_numpy().tolist() == [
        ["007", 6, "7"],
        ["B-2", 3, "7"],
        ["G-3", 12, "7"],
    ]
    assert fleet.replacements.loc[3, ["part", "quantity"]].to_numpy().tolist() == [
        ["007", 1],
        ["G-3", 2],
    ]
    assert fleet.stock["on_hand"].dtype == "int64"
    assert [(note.table, note.text) for note in fleet.notes] == [
        ("stock", "K-9 was counted as 2 x 007, 4 x G-3, 1 x B-2"),
        ("replacements", "K-1 was counted as 1 x 007, 2 x G-3"),
    ]


def test_a_set_that_is_a_part_itself_stays_whole():
    tables = sound_tables()
    tables["parts"].append({"part": "K-1", "name": "Seal set", "kg": 0.2})
    tables["fitted"].append({"model": "M1", "part": "K-1"})
    tables["stock"].append({"place": "Alba", "part": "K-1", "on_hand": 3})
    fleet = make(tables)
    assert sorted(fleet.stock["part"]) == ["007", "B-2", "K-1"]
    assert fleet.notes == ()
