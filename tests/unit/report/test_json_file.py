"""The JSON: its keys, in their order, and nothing that JSON does not allow."""

import json
import math

import pytest
from report_builders import (
    make_ageing,
    make_best_age,
    make_boat,
    make_boat_spread,
    make_family,
    make_order,
    make_plan,
    make_run,
    make_tests,
)

from stockopt import __version__
from stockopt.errors import Change, Clash, Note
from stockopt.plan import Cost
from stockopt.report.json_file import (
    lives_keys,
    no_plan_keys,
    one_part_keys,
    plan_keys,
    write_json,
)
from stockopt.report.one_part import pick_part
from stockopt.report.plain_numbers import money, number
from stockopt.report.run import Checked, PartLives

# The keys that were promised, in their order; more may follow them.
PLAN = (
    "stockopt fleet planned_on currency status bound gap cost boats carry orders stores lives notes"
)
COST = "spend_now expected_later total"
BOATS = "boat kg kg_limit litres spend_now readiness expected_shortages"
CARRY = (
    "boat part name on_hand carry replace_now restock buy moved expected_need shortage_chance "
    "expected_shortages expected_cost"
)
ORDERS = "source place part packs pieces price landed order_by arrives_by"
LIVES = (
    "part clock failures exposure rate_per_1000 rate_low rate_high shape shape_low shape_high "
    "scale mean_life mean_life_low mean_life_high prior_only"
)
NOTES = "table row column text"


def begins(keys, promised):
    return " ".join(keys).startswith(promised)


def refuse(word):
    raise ValueError(f"{word} is not JSON")


def written(tmp_path, keys):
    path = tmp_path / "plan.json"
    write_json(keys, path)
    return json.loads(path.read_text(encoding="utf-8"), parse_constant=refuse)


def test_keys_and_their_order(tmp_path):
    plan = written(tmp_path, plan_keys(make_run()))
    assert begins(plan, PLAN)
    assert " ".join(plan["cost"]) == COST
    for name, keys in (
        ("boats", BOATS),
        ("carry", CARRY),
        ("orders", ORDERS),
        ("lives", LIVES),
        ("notes", NOTES),
    ):
        assert plan[name], name
        for line in plan[name]:
            assert begins(line, keys), name
    assert plan["stores"] == []


def test_values(tmp_path):
    plan = written(tmp_path, plan_keys(make_run()))
    assert plan["stockopt"] == __version__
    assert plan["planned_on"] == "2031-04-01"
    assert plan["orders"][0]["arrives_by"] == "2031-05-03"
    assert plan["boats"][0]["kg_limit"] == 60.0
    assert plan["notes"][1] == {
        "table": "stock",
        "row": None,
        "column": "",
        "text": "no count is dated",
    }
    belt, bilge = plan["carry"][:2]
    assert (belt["on_hand"], belt["carry"], belt["restock"]) == (3, 2, False)
    assert bilge["carry_at_least"] == 1
    bilge_life, impeller = plan["lives"][:2]
    assert bilge_life["rate_per_1000"] is None
    assert bilge_life["prior_only"] is True
    assert impeller["pieces_watched"] == 2


def test_what_is_not_finite_is_null(tmp_path):
    run = make_run(
        bound=-math.inf,
        gap=math.inf,
        boats=(make_boat("Heron", expected_shortages=math.nan),),
        orders=(make_order("IMP-1", price=math.inf),),
    )
    plan = written(tmp_path, plan_keys(run))
    assert plan["bound"] is None
    assert plan["gap"] is None
    assert plan["boats"][0]["expected_shortages"] is None
    assert plan["orders"][0]["price"] is None


def test_a_number_that_slips_through_is_refused(tmp_path):
    with pytest.raises(ValueError, match="not JSON compliant"):
        write_json({"x": math.nan}, tmp_path / "x.json")


def test_the_parts_of_the_cost_add_up_after_rounding(tmp_path):
    cost = Cost(spend_now=1 / 3, expected_later=2e6 / 7, total=1 / 3 + 2e6 / 7)
    plan = written(tmp_path, plan_keys(make_run(cost=cost)))["cost"]
    assert plan["spend_now"] + plan["expected_later"] == pytest.approx(plan["total"], abs=2e-6)


def test_names_keep_their_letters(tmp_path):
    path = tmp_path / "plan.json"
    write_json({"name": "Bélier à joint"}, path)
    assert "Bélier à joint" in path.read_text(encoding="utf-8")


def test_lives_alone(tmp_path):
    run = make_run()
    notes = (Note(table="readings", text="x"),)
    keys = written(
        tmp_path,
        lives_keys(PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=notes)),
    )
    assert begins(keys, "stockopt fleet planned_on currency lives notes")
    assert begins(keys["lives"][0], LIVES)


def test_no_plan(tmp_path):
    run = make_run()
    more = Change(limit="kg", boat="Heron", unit="kg", value=1.0, needed=2.5, text="carry more")
    clash = Clash(text="floor above limit", remedies=((more,),))
    keys = no_plan_keys(Checked(fleet=run.fleet, notes=()), (clash,))
    plan = written(tmp_path, keys)
    assert plan["status"] == "no plan"
    assert plan["clashes"] == ["floor above limit"]
    (change,) = plan["changes"]
    assert begins(
        change, "clash remedy limit boat part source place unit value needed over text proven"
    )
    assert (change["clash"], change["remedy"], change["over"]) == (0, 0, 1.5)
    assert begins(plan, "stockopt fleet planned_on currency status")


def test_rounding():
    assert money(-0.0000001) == 0.0
    assert str(money(-0.0000001)) == "0.0"
    assert money(None) is None
    assert number(1e-12) == 1e-12
    assert number(0.1 + 0.2) == 0.3
    assert number(None) is None


def test_every_field_of_a_life_is_there():
    keys = plan_keys(make_run())["lives"][1]
    # Points for mixing are no answer.
    fields = set(make_ageing("IMP-1").__dataclass_fields__) - {"nodes"}
    assert fields <= set(keys)
    assert set(make_tests().__dataclass_fields__) == set(keys["tests"])
    assert set(make_best_age().__dataclass_fields__) | {"saving"} == set(keys["best_age"])


def test_every_field_of_what_the_fleet_taught_is_there():
    run = make_run()
    keys = plan_keys(run)
    untold = {"parts", "notes"}
    assert set(run.ageing.__dataclass_fields__) - untold <= set(keys)
    assert set(make_family().__dataclass_fields__) == set(keys["families"][0])
    assert set(make_boat_spread().__dataclass_fields__) == set(keys["boat_spread"])
    assert keys["boat_factors"] == {"Heron": 1.4, "Osprey / west": 0.7}


def test_best_age_and_oldest_piece(tmp_path):
    bilge, impeller, seal = written(tmp_path, plan_keys(make_run()))["lives"]
    assert (bilge["best_age"], bilge["oldest"], bilge["tests"]) == (None, None, None)
    assert impeller["best_age"]["age"] == 420.0
    assert impeller["best_age"]["saving"] == 212.5
    assert impeller["ages"] == "wears out"
    assert impeller["oldest"] == {
        "boat": "Heron",
        "machine": "engine",
        "slot": None,
        "age": 420.0,
        "age_known": True,
        "span": 100.0,
        "chance": pytest.approx(1 - math.exp(-1.4 * (520**2 - 420**2) / 700**2)),
    }
    assert seal["oldest"]["machine"] == "port engine"


def test_one_part_alone(tmp_path):
    run = make_run()
    studied = PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=())
    keys = written(tmp_path, one_part_keys(studied, pick_part(studied, "IMP-1")))
    assert [life["part"] for life in keys["lives"]] == ["IMP-1"]
    worn, running = keys["pieces"]
    assert (worn["failed"], worn["left"], worn["reason"]) == (True, 540.0, "worn")
    assert (running["began_on"], running["ended_on"]) == ("2029-04-02", "2031-04-01")
    assert keys["survival"] == {"age": [540.0], "survival": [0.0]}
    assert len(keys["fitted"]["age"]) == len(keys["fitted"]["low"])
    seal = written(tmp_path, one_part_keys(studied, pick_part(studied, "SEAL-7")))
    assert seal["pieces"][0]["began_on"] is None
    assert seal["survival"] == {"age": [], "survival": []}


def test_every_field_of_the_plan_is_there():
    assert set(make_plan().__dataclass_fields__) <= set(plan_keys(make_run()))
