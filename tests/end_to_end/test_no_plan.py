"""Every kind of limit that can leave no plan: told on the command line, exit code 3, JSON too."""

import json
import sys

import pytest
from click.testing import CliRunner
from end_to_end_builders import write_fleet

from stockopt.cli.main import main

#: Two boats of one store and three parts, so that each case takes a moment.
FITTED = """
model,part,quantity
Diesel A,IMP-1,1
Diesel A,BILGE-2,1
"""
PARTS = """
part,name,clock,wear,expected_life,price,kg,litres,consequence,carry_at_least
IMP-1,"Impeller, raw-water pump",hours,wears,600,,0.15,0.3,stops,
BILGE-2,"Bilge pump, electric",days,random,1100,,0.8,1.2,limits,{floor}
"""
PRICES = """
source,part,price,pack,most
Quayside,IMP-1,62{impeller}
{bilge}
"""
SOURCES = """
source,kind,delivers_to,lead_days,late_days,minimum_order
Quayside,local,Port Amber,0,1,{minimum}
Far Parts,mail,Port Amber,30,60,
"""
BOATS = """
boat,home_port,store,spares_kg,spares_litres,budget,day_cost
Heron,Port Amber,Base,{kg},{litres},{budget},600
Osprey,Port Amber,Base,,,,900
"""
BILGE = "Quayside,BILGE-2,95,1,"


def plan(
    tmp_path,
    monkeypatch,
    *options,
    floor=2,
    impeller=",1,",
    bilge=BILGE,
    minimum="",
    kg="",
    litres="",
    budget="",
    stock="",
):
    """Plan a fleet that has no plan; return what it says, and what the JSON has."""
    monkeypatch.chdir(tmp_path)
    write_fleet(
        tmp_path / "tiny",
        parts=PARTS.format(floor=floor),
        fitted=FITTED,
        prices=PRICES.format(impeller=impeller, bilge=bilge),
        sources=SOURCES.format(minimum=minimum),
        boats=BOATS.format(kg=kg, litres=litres, budget=budget),
        stock=stock,
        replacements="on,boat,machine,part,quantity,hours,reason\n",
        used_with="",
    )
    result = CliRunner().invoke(main, ["plan", "tiny", "--json", "plan.json", *options])
    assert result.exit_code == 3, result.output
    assert result.stdout == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.json", "tiny"]
    keys = json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
    assert keys["status"] == "no plan"
    for clash in keys["clashes"]:
        assert clash in result.stderr.replace("Why: The", "Why: the") or clash[1:] in result.stderr
    for change in keys["changes"]:
        assert change["text"][1:] in result.stderr
        assert change["over"] == pytest.approx(abs(change["needed"] - change["value"]))
    return result.stderr, keys


def told(keys, number=0):
    change = keys["changes"][number]
    return change["limit"], change["boat"], change["unit"], change["value"], change["needed"]


def test_kilos(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, kg=1)
    assert "Let Heron carry 1.6 kg of spares, 0.6 kg more than her limit of 1 kg." in text
    assert keys["clashes"] == ["the floors of Heron weigh 1.6 kg, 0.6 kg over the limit of 1 kg"]
    assert told(keys) == ("kg", "Heron", "kg", 1.0, 1.6)
    assert told(keys, 1) == ("carry_at_least", "Heron", "pieces", 2.0, 1.0)


def test_litres(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, litres=2)
    assert "Give Heron 2.4 litres for spares, 0.4 litres more than her limit of 2 litres." in text
    assert told(keys) == ("litres", "Heron", "litres", 2.0, 2.4)


def test_budget_of_a_boat(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, budget=100)
    assert "Give Heron a budget of 190.00 EUR, 90.00 EUR more than 100.00 EUR." in text
    assert "The floors of Heron cost 190.00 EUR, 90.00 EUR over the budget" in text
    assert told(keys) == ("boat budget", "Heron", "EUR", 100.0, 190.0)


def test_budget_of_the_fleet(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--budget", "300")
    assert "Raise the budget of the fleet to 380.00 EUR, 80.00 EUR more than 300.00 EUR." in text
    assert told(keys) == ("fleet budget", "", "EUR", 300.0, 380.0)


def test_floors_with_kilos_and_the_budget(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--budget", "300", kg=1)
    assert "The least change that mends it is all of these together" in text
    assert {change["limit"] for change in keys["changes"] if change["remedy"] == 0} == {
        "kg",
        "fleet budget",
    }


def test_readiness_beyond_reach(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--readiness", "99.9999999%", impeller=",1,1")
    assert "instead of 99.9999999 %" in text
    limit, _, unit, value, needed = told(keys)
    assert (limit, unit, value) == ("readiness", "share", 0.999999999)
    assert 0.0 < needed < value
    assert f"{100 * needed:.12g} %" in text


def test_readiness_with_the_budget(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--readiness", "90%", "--budget", "100", floor="")
    assert "instead of 90 %" in text
    assert {change["limit"] for change in keys["changes"]} == {"fleet budget", "readiness"}


def test_readiness_with_kilos(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--readiness", "99.9%", floor="", kg=0.01)
    assert "To keep a readiness of 99.9 % with all else as it is, Heron must carry" in text
    assert told(keys)[:4] == ("kg", "Heron", "kg", 0.01)


def test_floor_that_nobody_quotes(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, bilge="")
    assert "nobody quotes a price for it" in text
    assert "no source delivers more in time" not in text
    assert told(keys) == ("stock", "Heron", "pieces", 0.0, 2.0)


LATE = "Far Parts,BILGE-2,60,1,"


def test_floor_to_be_had_only_after_departure(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, bilge=LATE)
    assert "the first offer that could bring more is in hand by 2031-05-31" in text
    assert "Or let Heron depart 28 days later, on 2031-05-31." in text
    assert "not checked" not in text
    assert departures(keys) == [("Heron", 28.0, True), ("Osprey", 28.0, True)]
    # What is told is true: both boats moved, there is a plan.
    moved = ("--departs", "Heron=2031-05-31", "--departs", "Osprey=2031-05-31")
    result = CliRunner().invoke(main, ["plan", "tiny", "--report", "then.xlsx", *moved])
    assert result.exit_code == 0, result.output


def departures(keys):
    return [
        (change["boat"], change["needed"], change["checked"])
        for change in keys["changes"]
        if change["limit"] == "departs_on"
    ]


def test_later_departure_that_brings_too_little_is_not_told(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, bilge=f"{LATE}1")
    assert departures(keys) == []
    assert "by 2031-05-31, but with all else as it is no plan keeps the limits then." in text


def test_later_departure_is_told_for_the_day_on_which_there_is_enough(tmp_path, monkeypatch):
    slow = "\nSlow Parts,mail,Port Amber,60,90,"
    monkeypatch.setattr(sys.modules[__name__], "SOURCES", SOURCES.rstrip() + slow + "\n")
    bilge = f"{LATE}1\nSlow Parts,BILGE-2,50,1,"
    text, keys = plan(tmp_path, monkeypatch, bilge=bilge)
    assert departures(keys) == [("Heron", 58.0, True), ("Osprey", 58.0, True)]
    assert "Or let Heron depart 58 days later, on 2031-06-30." in text


def test_later_departure_after_she_left_the_fleet_is_not_told(tmp_path, monkeypatch):
    lines = BOATS.strip().splitlines()
    ends = [f"{lines[0]},left_on", f"{lines[1]},2031-05-20", f"{lines[2]},"]
    monkeypatch.setattr(sys.modules[__name__], "BOATS", "\n" + "\n".join(ends) + "\n")
    _, keys = plan(tmp_path, monkeypatch, bilge=LATE)
    assert departures(keys) == [("Osprey", 28.0, True)]


def test_floor_above_what_a_source_has(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, bilge="Quayside,BILGE-2,95,1,1")
    assert "Quayside has 1 pack of 1" in text
    assert told(keys) == ("stock", "Heron", "pieces", 1.0, 2.0)


def test_packs_that_two_boats_share(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, bilge="Quayside,BILGE-2,95,1,3")
    assert "Have Quayside sell 4 of BILGE-2, 1 more than it has." in text
    assert told(keys) == ("most", "", "packs", 3.0, 4.0)


def test_stock_that_two_boats_share(tmp_path, monkeypatch):
    stock = "place,part,on_hand,counted_on\nBase,BILGE-2,3,2031-03-20\n"
    text, keys = plan(tmp_path, monkeypatch, bilge="", stock=stock)
    assert "Bring 1 more of BILGE-2 to Base (4 instead of 3)." in text
    assert told(keys) == ("stock", "", "pieces", 3.0, 4.0)


def test_least_order_with_the_budget(tmp_path, monkeypatch):
    text, keys = plan(tmp_path, monkeypatch, "--budget", "400", minimum=500)
    assert "the least orders of the sources" in text
    assert told(keys)[:3] == ("fleet budget", "", "EUR")
    assert told(keys)[4] >= 500.0
    assert "minimum_order" in {change["limit"] for change in keys["changes"]}
