"""Rules of thumb, counted by hand."""

from datetime import date

from program_builders import make_choice, make_choices, make_part, plan_of
from rehearsal_builders import make_voyages

from stockopt.lives.build import build_lives
from stockopt.program.solve import solve_program
from stockopt.rehearsal.buying import list_broken
from stockopt.rehearsal.rules import list_rules
from stockopt.units import Measures


def make_rules(**changes):
    """Two engines with two seals each, of which five were changed in the last year."""
    machines = [
        {"boat": "Alba", "machine": side, "model": "M", "fitted_on": date(2029, 1, 1)}
        | {"hours_at_fitting": 0}
        for side in ("port engine", "starboard engine")
    ]
    changed = [(date(2030, 3, 1), "port engine", 2), (date(2030, 6, 1), "port engine", 2)]
    changed += [(date(2031, 2, 1), "starboard engine", 2), (date(2031, 3, 1), "port engine", 1)]
    tables = {
        "machines": machines,
        "parts": [
            {"part": "seal", "price": 10, "clock": "days"},
            {"part": "gasket", "price": 2, "clock": "days"},
            {"part": "flare", "price": 9, "clock": "days", "carry_at_least": 3},
        ],
        "fitted": [
            {"model": "M", "part": "seal", "quantity": 2},
            {"model": "M", "part": "flare"},
        ],
        "used_with": [{"part": "gasket", "with_part": "seal", "quantity": 3}],
        "replacements": [
            {"on": on, "boat": "Alba", "machine": machine, "part": "seal", "quantity": quantity}
            | {"reason": "failed"}
            for on, machine, quantity in changed
        ],
    }
    fleet = make_voyages(**(tables | changes))
    return {
        rule.name: {part: n for (_, part), n in rule.carry.items()}
        for rule in list_rules(fleet, build_lives(fleet))
    }


def test_every_rule_keeps_the_floors():
    assert all(carry["flare"] >= 3 for carry in make_rules().values())


def test_none_and_one_of_each():
    rules = make_rules()
    assert rules["carry nothing"] == {"seal": 0, "gasket": 0, "flare": 3}
    assert rules["one of each"] == {"seal": 1, "gasket": 1, "flare": 3}


def test_last_year_counts_a_year_back_and_gaskets_with_their_seals():
    rules = make_rules()
    assert rules["last year's use"] == {"seal": 5, "gasket": 15, "flare": 3}
    assert rules["twice last year's use"] == {"seal": 10, "gasket": 30, "flare": 3}


def test_the_year_of_the_fleet_is_shared_out_by_pieces_fitted_and_rounded_up():
    boats = [{"boat": name, "home_port": "Porto", "day_cost": 100} for name in ("Alba", "Brig")]
    machines = [
        {"boat": boat, "machine": machine, "model": "M", "fitted_on": date(2029, 1, 1)}
        | {"hours_at_fitting": 0}
        for boat, machine in (
            ("Alba", "port engine"), ("Alba", "starboard engine"), ("Brig", "engine"),
        )
    ]  # fmt: skip
    # Five used of six fitted: 5/6 of four are four, rounded up.
    assert make_rules(boats=boats, machines=machines)["last year's use"]["seal"] == 4


def test_limits_that_a_rule_breaks_are_told_in_the_units_of_the_fleet():
    limits = {"Alba": {"kg": 1.0, "litres": 10.0, "budget": 5.0}}
    bought = make_part(make_choice(2), floor=2, kg=3.0, litres=1.0)
    for measures, told in (
        (Measures(), "Alba: 6.0 of 1.0 kg"),
        (Measures(mass="lb"), "Alba: 13.2 of 2.2 lb"),
    ):
        free = make_choices(bought, measures=measures)
        plan = plan_of(solve_program(free, gap=0.0, seconds=30.0), free)
        broken = list(list_broken(plan, make_choices(bought, limits=limits, measures=measures)))
        assert broken == [told, "Alba: 20 of 5 to spend"]
