"""What is missing for a better answer: found, named, and most valuable first."""

from datetime import date

import pytest
from builders import make_fleet

from stockopt.lives.build import build_lives
from stockopt.lives.wishes import list_wishes
from stockopt.settings import Settings

TODAY = date(2031, 4, 1)


def tables(**changes):
    """Return a boat of which everything is told, with some tables changed."""
    told = {
        "boats": [{"boat": "Tern", "store": "Shed", "day_cost": 200, "spares_kg": 50}],
        "machines": [
            {
                "boat": "Tern",
                "machine": "engine",
                "model": "D40",
                "fitted_on": date(2028, 3, 1),
                "hours_at_fitting": 0,
            }
        ],
        "readings": [
            {"boat": "Tern", "machine": "engine", "read_on": date(2031, 3, 28), "hours": 900}
        ],
        "parts": [
            {"part": "A", "name": "Seal", "expected_life": 700, "price": 20, "kg": 0.1},
            {"part": "B", "name": "Belt", "expected_life": 900, "price": 30, "kg": 0.2},
        ],
        "fitted": [{"model": "D40", "part": "A"}, {"model": "D40", "part": "B"}],
        "sources": [
            {
                "source": "Post",
                "kind": "mail",
                "delivers_to": "Bay",
                "lead_days": 5,
                "late_days": 9,
            }
        ],
        "ports": [{"port": "Bay", "price_factor": 2.0}],
        "legs": [
            {
                "boat": "Tern",
                "departs_on": date(2031, 5, 1),
                "days": 7,
                "to_port": "Bay",
                "chase_days": 1,
            }
        ],
        "stock": [
            {"place": place, "part": "A", "on_hand": 1, "counted_on": date(2031, 3, 1)}
            for place in ("Tern", "Shed")
        ],
    }
    return {**told, **changes}


def wishes(**changes):
    fleet = make_fleet(settings=Settings(planned_on=TODAY), **tables(**changes))
    return [wish.text for wish in list_wishes(fleet, build_lives(fleet))]


def changed(table, number, **cells):
    rows = [dict(row) for row in tables()[table]]
    rows[number].update(cells)
    return {table: rows}


def test_nothing_is_wished_for_where_all_is_told():
    assert wishes() == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (changed("boats", 0, day_cost=0), "1 boat has no day_cost (Tern)"),
        (changed("parts", 1, price=None), "1 part has no price (B)"),
        (changed("parts", 0, expected_life=None), "1 part has no expected_life and fewer than 3"),
        (changed("parts", 1, kg=0), "1 part has no kg (B)"),
        (
            changed("readings", 0, read_on=date(2030, 11, 1)),
            "1 machine has no reading for 4 months (Tern engine)",
        ),
        ({"readings": []}, "1 machine has no reading for 4 months (Tern engine)"),
        (
            changed("machines", 0, fitted_on=None, hours_at_fitting=None),
            "1 machine has no fitted_on and hours_at_fitting (Tern engine)",
        ),
        (changed("stock", 1, counted_on=date(2030, 6, 1)), "stock counted over 6 months ago (Shed"),
        ({"stock": tables()["stock"][:1]}, "1 place has no stock at all (Shed)"),
        ({"ports": [], "sources": []}, "1 port has no price_factor and no source (Bay)"),
        (changed("sources", 0, late_days=None), "1 mail source has no late_days (Post)"),
        (changed("legs", 0, chase_days=None), "1 boat has a store but legs without chase_days"),
    ],
)
def test_what_is_missing_is_named(changes, said):
    (wish,) = wishes(**changes)
    assert said in wish


def test_masses_are_wished_for_under_the_heading_of_the_fleets_unit():
    settings = Settings(planned_on=TODAY, mass_unit="lb")
    fleet = make_fleet(settings=settings, **tables(**changed("parts", 1, kg=0)))
    (wish,) = list_wishes(fleet, build_lives(fleet))
    assert wish.text == (
        "1 part has no lb (B): without its mass a spare counts nothing against spares_lb (parts)"
    )


def test_reasons_that_were_not_given_are_counted():
    replaced = [{"on": date(2030, 5, 1), "boat": "Tern", "machine": "engine", "part": "A"}]
    (wish,) = wishes(replacements=replaced)
    assert wish.startswith("1 replacement has no reason (A)")


def test_most_valuable_first():
    listed = wishes(**changed("boats", 0, day_cost=0), **changed("sources", 0, late_days=None))
    assert ["day_cost" in wish for wish in listed] == [True, False]
    # All pieces by hours without a reading weigh more than one part without a mass.
    listed = wishes(
        **changed("parts", 1, kg=0), **changed("readings", 0, read_on=date(2030, 11, 1))
    )
    assert ["no reading" in wish for wish in listed] == [True, False]


def test_a_part_of_a_family_with_failures_needs_no_guess():
    parts = [dict(row, expected_life=None, family="seals") for row in tables()["parts"]]
    failures = [
        {
            "on": date(2028 + k, 9, 1),
            "boat": "Tern",
            "machine": "engine",
            "part": "A",
            "hours": 200 * (k + 1),
            "reason": "failed",
        }
        for k in range(3)
    ]
    assert wishes(parts=parts, replacements=failures) == []
    assert any("B" in wish for wish in wishes(parts=parts))
