"""Two plans compared: what changed, what it costs and why, from their JSON alone."""

import copy
import io
import json

import pytest
from report_builders import make_run, make_store_line
from rich.console import Console

from stockopt.errors import StockoptError
from stockopt.report.differ import differ_keys, print_differences
from stockopt.report.differences import compare_plans
from stockopt.report.json_file import plan_keys
from stockopt.report.plan_file import read_plan_file, refuse_unlike
from stockopt.report.store_keys import store_keys

PIN = {"option": "--pin", "value": "Heron:IMP-1=3", "text": "Heron carries exactly 3 x IMP-1"}


@pytest.fixture
def keys():
    return json.loads(json.dumps(plan_keys(make_run())))


def line_of(keys, boat, part):
    return next(line for line in keys["carry"] if (line["boat"], line["part"]) == (boat, part))


def boat_of(keys, boat):
    return next(line for line in keys["boats"] if line["boat"] == boat)


class Plans:
    """Writes plans and compares them."""

    def __init__(self, folder):
        self.folder = folder

    def write(self, name, keys):
        path = self.folder / name
        path.write_text(keys if isinstance(keys, str) else json.dumps(keys), encoding="utf-8")
        return path

    def compare(self, before, after):
        plans = [
            read_plan_file(self.write(name, keys))
            for name, keys in (("a.json", before), ("b.json", after))
        ]
        refuse_unlike(*plans)
        return compare_plans(*plans)


@pytest.fixture
def plans(tmp_path):
    return Plans(tmp_path)


def printed(differences, most=25):
    text = io.StringIO()
    print_differences(
        Console(file=text, width=80, highlight=False, markup=False), differences, most
    )
    return text.getvalue()


def test_a_plan_and_itself_do_not_differ(plans, keys):
    differences = plans.compare(keys, keys)
    assert differences.is_empty
    assert "No difference." in printed(differences)
    told = differ_keys(differences)
    assert told["same"] is True
    for name in ("lines", "moves", "orders", "charges", "stores", "boats", "cost", "supposed"):
        assert told[name] == []


def test_notes_and_seconds_are_no_difference(plans, keys):
    other = copy.deepcopy(keys)
    other["seconds"], other["notes"] = 99.0, []
    assert plans.compare(keys, other).is_empty


def test_a_line_tells_money_now_and_later_and_what_was_supposed(plans, keys):
    other = copy.deepcopy(keys)
    line = line_of(other, "Heron", "IMP-1")
    line["carry"] += 1
    line["expected_cost"] -= 80.0
    other["what_if"] = [PIN]
    differences = plans.compare(keys, other)
    (found,) = differences.lines
    assert (found.boat, found.part, found.later) == ("Heron", "IMP-1", pytest.approx(-80.0))
    assert found.reasons[0] == "the second plan supposes: Heron carries exactly 3 x IMP-1"
    assert differences.supposed == ("Heron carries exactly 3 x IMP-1",)
    back = plans.compare(other, keys)
    assert back.no_longer == differences.supposed
    assert back.lines[0].reasons[0].startswith("the first plan supposes")
    assert back.lines[0].later == pytest.approx(80.0)


def test_bought_pieces_are_charged_at_what_they_cost_landed(plans, keys):
    other = copy.deepcopy(keys)
    line = line_of(other, "Osprey / west", "SEAL-7")
    line["carry"] += 2
    line["buy"] += 2
    before = line_of(keys, "Osprey / west", "SEAL-7")["buy"]
    order = next(order for order in other["orders"] if order["part"] == "SEAL-7")
    order["pieces"] += 2
    order["packs"] += 2
    order["landed"] = 30.0
    differences = plans.compare(keys, other)
    (found,) = differences.lines
    assert found.now == pytest.approx(30.0 * (before + 2) - 24.0 * before)
    assert "a piece costs 30.00 landed, not 24.00" in found.reasons
    (order,) = differences.orders
    assert order.where == ("Far Parts", "Base store", "SEAL-7")
    assert order.more == pytest.approx(30.0 * 5 - 24.0 * 3)


def test_the_same_pieces_from_elsewhere_are_moves(plans, keys):
    other = copy.deepcopy(keys)
    line = line_of(other, "Osprey / west", "SEAL-7")
    line["moved"] += 1
    line["buy"] -= 1
    differences = plans.compare(keys, other)
    assert differences.lines == ()
    (move,) = differences.moves
    assert {change.what for change in move.changes} == {"buy", "moved"}
    assert "from elsewhere" in printed(differences)


def test_a_limit_that_is_reached_in_one_plan_is_told(plans, keys):
    for side in (0, 1):
        pair = [copy.deepcopy(keys), copy.deepcopy(keys)]
        for told in pair:
            line = line_of(told, "Heron", "IMP-1")
            line.update(carry=2, kg=3.0)
            boat_of(told, "Heron").update(kg=20.0, kg_limit=60.0, litres_limit=None, budget=None)
        line_of(pair[side], "Heron", "IMP-1").update(carry=1, kg=1.5)
        boat_of(pair[side], "Heron").update(kg=59.0)
        (found,) = plans.compare(*pair).lines
        which = ("first", "second")[side]
        assert found.reasons == (f"in the {which} plan her 60.0 kg are full",)


def test_masses_and_room_are_told_in_the_units_of_the_plans(plans, keys):
    pair = [copy.deepcopy(keys), copy.deepcopy(keys)]
    for told, kg in zip(pair, (20.0, 59.0), strict=True):
        boat_of(told, "Heron").update(kg=kg, kg_limit=60.0, litres=kg / 2.0, litres_limit=None)
        boat_of(told, "Heron").update(budget=None)
    line_of(pair[0], "Heron", "IMP-1").update(carry=2, kg=3.0)
    line_of(pair[1], "Heron", "IMP-1").update(carry=1, kg=1.5)
    pair[1]["mass_unit"], pair[1]["volume_unit"] = "lb", "gallons"
    differences = plans.compare(*pair)
    text = " ".join(printed(differences).split())
    assert "lb 44.1 -> 130.1, gallons 2.6 -> 7.8" in text
    assert "because in the second plan her 132.3 lb are full" in text
    (boat,) = differ_keys(differences)["boats"]
    assert [(one["what"], one["after"]) for one in boat["changes"]] == [
        ("kg", 59.0),
        ("litres", 29.5),
    ]
    # What the second does not say, the first does; kilos and litres where neither does.
    for key in ("mass_unit", "volume_unit"):
        del pair[1][key]
        pair[0][key] = {"mass_unit": "lb", "volume_unit": "litres"}[key]
    assert "lb 44.1 -> 130.1, litres 10.0 -> 29.5" in " ".join(
        printed(plans.compare(*pair)).split()
    )
    for key in ("mass_unit", "volume_unit"):
        del pair[0][key]
    assert "kg 20.0 -> 59.0, litres 10.0 -> 29.5" in " ".join(printed(plans.compare(*pair)).split())


def test_loads_that_read_the_same_are_no_difference(plans, keys):
    other = copy.deepcopy(keys)
    boat_of(other, "Heron")["litres"] += 0.1  # 0.026 gallons
    assert not plans.compare(keys, other).is_empty
    for told in (keys, other):
        told["volume_unit"] = "gallons"
    assert plans.compare(keys, other).is_empty


def test_the_budget_over_all_that_is_spent_is_told(plans, keys):
    other = copy.deepcopy(keys)
    line_of(other, "Osprey / west", "SEAL-7")["carry"] -= 1
    spent = {"limit": "budget", "boat": "", "value": keys["cost"]["spend_now"] + 1.0}
    other["limits"] = [spent]
    boat_of(other, "Osprey / west").update(kg_limit=None, litres_limit=None, budget=None)
    boat_of(keys, "Osprey / west").update(kg_limit=None, litres_limit=None, budget=None)
    (found,) = plans.compare(keys, other).lines
    assert found.reasons == (
        f"in the second plan the budget of {spent['value']:,.2f} over all is spent",
    )


def test_other_stock_other_floors_and_other_needs_are_told(plans, keys):
    other = copy.deepcopy(keys)
    before = line_of(keys, "Heron", "IMP-1")
    line = line_of(other, "Heron", "IMP-1")
    line["carry"] += 1
    line["on_hand"] += 4
    line["carry_at_least"] += 1
    line["expected_need"] = 9.0
    (found,) = plans.compare(keys, other).lines
    assert found.reasons[0] == f"{line['on_hand']} of her own instead of {before['on_hand']}"
    assert found.reasons[1].startswith("at least ")
    assert found.reasons[2].startswith("9 pieces are expected to be needed")


def test_a_source_that_sold_it_to_her_or_to_a_store_and_sells_nothing_now_is_told(plans, keys):
    gone = {"option": "--without", "value": "Post", "text": "nothing from Post"}
    for stores, told in (([], False), ([{"store": "B", "part": "IMP-1", "source": "Post"}], True)):
        before, after = copy.deepcopy(keys), copy.deepcopy(keys)
        before["stores"] = stores
        after["what_if"] = [gone]
        line_of(after, "Heron", "IMP-1")["carry"] += 1
        (found,) = plans.compare(before, after).lines
        reason = "the second plan supposes: nothing from Post"
        assert (reason in found.reasons) == told
        assert told or found.reasons == ("it follows from what is supposed of other lines",)


def test_lines_done_alike_are_counted_together(plans, keys):
    other = copy.deepcopy(keys)
    for line in other["carry"]:
        line["expected_cost"] += 2.0
    other["cost"]["expected_later"] += 2.0 * len(other["carry"])
    other["cost"]["total"] += 2.0 * len(other["carry"])
    differences = plans.compare(keys, other)
    assert differences.lines == ()
    assert differences.alike_later == pytest.approx(2.0 * len(other["carry"]))
    assert [change.what for change in differences.cost] == ["expected_later", "total"]
    assert not differences.is_empty


def test_a_boat_in_one_plan_only(plans, keys):
    other = copy.deepcopy(keys)
    for name in ("boats", "carry"):
        other[name] = [line for line in other[name] if line["boat"] != "Heron"]
    differences = plans.compare(keys, other)
    assert {line.reasons for line in differences.lines} == {("planned in the first only",)}
    assert list(differences.boats) == ["Heron"]
    assert "Heron: " in printed(differences)


def test_stores_are_compared_by_what_is_kept_and_ordered(plans, keys):
    level = {"store": "Base store", "part": "SEAL-7", "name": "Seal", "level": 3, "buy": 2}
    keys["stores"] = [{**level, "later_cost": 10.0, "fill_rate": 0.9}]
    other = copy.deepcopy(keys)
    other["stores"] = [{**level, "level": 5, "later_cost": 4.0, "fill_rate": 0.97}]
    (store,) = plans.compare(keys, other).stores
    assert store.where == ("Base store", "SEAL-7")
    assert [(c.what, c.before, c.after) for c in store.changes] == [("level", 3, 5)]
    assert store.more == pytest.approx(-6.0)
    assert store.reasons == ("nothing of this level itself: it follows from the boats' lines",)
    other["stores"][0]["level"] = 3
    assert plans.compare(keys, other).stores == ()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"on_hand": 6}, "6 in stock instead of 4"),
        ({"expected_asked": 9.0}, "boats are expected to draw 9 pieces, not 6.25"),
    ],
)
def test_a_level_says_why_it_is_otherwise(plans, keys, change, reason):
    keys["stores"] = [json.loads(json.dumps(store_keys(make_store_line())))]
    other = copy.deepcopy(keys)
    other["stores"][0] |= {"level": 7, **change}
    differences = plans.compare(keys, other)
    (store,) = differences.stores
    assert store.reasons == (reason,)
    assert f"because {reason}" in printed(differences)
    assert differ_keys(differences)["stores"][0]["reasons"] == [reason]


def test_a_level_changed_by_what_is_supposed_of_its_part_or_the_money_says_so(plans, keys):
    keys["stores"] = [json.loads(json.dumps(store_keys(make_store_line())))]
    other = copy.deepcopy(keys)
    other["stores"][0]["level"] = 7
    told = {"option": "--rate", "value": "seal=x2", "text": "seals fail twice as often"}
    other["what_if"] = [told]
    (store,) = plans.compare(keys, other).stores
    assert store.reasons == ("the second plan supposes: seals fail twice as often",)
    other["what_if"] = [{**told, "value": "belt=x2"}]
    (store,) = plans.compare(keys, other).stores
    assert store.reasons == ("it follows from what is supposed of other lines",)


def test_it_is_80_wide_and_the_rest_is_counted(plans, keys):
    other = copy.deepcopy(keys)
    for line in other["carry"]:
        line["carry"] += 1
        line["name"] = "A name that is rather long for the width of a terminal, " * 2
    text = printed(plans.compare(keys, other), most=1)
    assert max(map(len, text.splitlines())) <= 80
    assert f"... and {len(other['carry']) - 1} lines more: --all lists them" in text
    assert "--all" not in printed(plans.compare(keys, other), most=None)


def test_the_doubt_of_unproven_plans_is_told(plans, keys):
    other = copy.deepcopy(keys)
    other["cost"]["total"] += 1.0
    differences = plans.compare(keys, other)
    expected = 2 * (keys["cost"]["total"] - keys["bound"]) + 1.0
    assert differences.doubt == pytest.approx(expected)
    assert "Neither need be the very best" in printed(differences)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("not json {", "is not JSON"),
        ("[1, 2]", "is not a plan"),
        ('{"a": 1}', "was not written by stockopt"),
        ({"stockopt": "9.9"}, "was written by stockopt 9.9"),
        ({"status": "no plan"}, "holds no plan"),
        ({"carry": None}, "is not whole"),
        ({"cost": {"spend_now": 1}}, "is not whole: it lacks 'expected_later'"),
        ({"what_if": 3}, "is not whole"),
        ({"boats": [{"kg": 3}]}, "is not whole: it lacks 'boat'"),
    ],
)
def test_what_is_no_plan_is_refused_in_words(plans, keys, change, told):
    path = plans.write("a.json", change if isinstance(change, str) else {**keys, **change})
    with pytest.raises(StockoptError, match=told) as caught:
        read_plan_file(path)
    assert caught.value.exit_code == 1
    assert "a.json" in str(caught.value)


def test_what_another_command_wrote_is_refused(plans, keys):
    del keys["carry"]
    with pytest.raises(StockoptError, match="another command"):
        read_plan_file(plans.write("lives.json", keys))


@pytest.mark.parametrize(("name", "told"), [("fleet", "two fleets"), ("currency", "two curr")])
def test_plans_of_other_fleets_are_refused(plans, keys, name, told):
    others = [{**boat, "boat": f"{boat['boat']} II"} for boat in keys["boats"]]
    with pytest.raises(StockoptError, match=told):
        plans.compare(keys, {**keys, name: "USD", "boats": others})


def test_tables_copied_and_changed_are_the_same_fleet_by_another_name(plans, keys):
    text = printed(plans.compare(keys, {**copy.deepcopy(keys), "fleet": "lighter"}))
    assert text.startswith(f"{keys['fleet']} -> lighter: ")


def test_of_a_boat_in_one_plan_only_what_is_nought_is_left_out(plans, keys):
    fewer = copy.deepcopy(keys)
    boat = keys["boats"][0]["boat"]
    fewer["boats"] = [line for line in keys["boats"] if line["boat"] != boat]
    fewer["carry"] = [line for line in keys["carry"] if line["boat"] != boat]
    text = printed(plans.compare(fewer, keys))
    assert f"{boat}: " in text
    assert "none -> none" not in text
    assert "none -> 0," not in text


def test_another_worth_of_what_is_done_alike_is_told(plans, keys):
    dearer = copy.deepcopy(keys)
    dearer["carry"][0]["expected_cost"] += 9.0
    dearer["cost"]["expected_later"] += 9.0
    dearer["cost"]["total"] += 9.0
    text = printed(plans.compare(keys, dearer))
    assert "later, on lines done alike" in text
