"""What the sheets say, as plain values."""

import math
from dataclasses import replace

import pytest
from builders import make_fleet
from report_builders import (
    DEPARTS,
    make_best_age,
    make_boat_spread,
    make_carry,
    make_family,
    make_run,
    make_tests,
    with_ageing,
)

from stockopt.ageing.ageing import Ageing
from stockopt.report.buy import buy_sheet
from stockopt.report.glance import glance_sheet
from stockopt.report.how import assumptions, how_sheet, learnt
from stockopt.report.part_lives import part_lives_sheets
from stockopt.report.replace_now import replace_now_sheet
from stockopt.report.stow import stow_sheets
from stockopt.settings import Settings


def cell_of(row, sheet, title):
    titles = [column.title for column in sheet.tables[0].columns]
    return row.cells[titles.index(title)]


def test_every_row_has_a_cell_for_each_column():
    run = make_run()
    sheets = [glance_sheet(run), replace_now_sheet(run), how_sheet(run)]
    for sheet in [*sheets, *stow_sheets(run), *part_lives_sheets(run)]:
        for table in sheet.tables:
            for row in table.rows:
                assert row.look == "group" or len(row.cells) == len(table.columns), sheet.name


def test_replace_now_names_the_oldest_places_and_why():
    sheet = replace_now_sheet(make_run())
    seal = sheet.tables[0].rows[1]
    assert cell_of(seal, sheet, "Change") == 2
    assert cell_of(seal, sheet, "Fitted") == 3
    where = cell_of(seal, sheet, "Where, oldest first (age now)")
    assert where == "starboard engine no. 1 (at least 498 h); port engine (512 h)"
    assert cell_of(seal, sheet, "Why") == (
        "The oldest has run at least 498 h of a mean life of 624 h. "
        "Failures expected under way fall from 0.92 to 0.15."
    )


def test_replace_now_says_what_else_the_change_uses_up():
    sheet = replace_now_sheet(make_run())
    impeller = sheet.tables[0].rows[0]
    also = cell_of(impeller, sheet, "Also needed")
    assert also == "2 pieces of GSK-1 Gasket, raw-water pump cover"


def test_replace_now_copes_with_a_part_that_no_other_room_knows():
    run = make_run(carry=(make_carry("Heron", "BILGE-2", replace_now=1),))
    (row,) = replace_now_sheet(run).tables[0].rows
    assert len(row.cells) == 9


def test_replace_now_has_no_column_for_what_no_change_needs():
    sheet = replace_now_sheet(make_run(carry=(make_carry("Heron", "SEAL-7", replace_now=1),)))
    assert "Also needed" not in [column.title for column in sheet.tables[0].columns]
    assert not any("Also needed" in line for line in sheet.lead)


def test_replace_now_says_that_a_piece_is_past_the_age_at_which_it_is_changed():
    run = make_run(carry=(make_carry("Osprey / west", "SEAL-7", replace_now=1),))
    run.fleet.parts.loc[run.fleet.parts["part"] == "SEAL-7", "replace_every"] = 400.0
    sheet = replace_now_sheet(run)
    why = cell_of(sheet.tables[0].rows[0], sheet, "Why")
    assert "It is to be changed every 400 h: overdue." in why
    run.fleet.parts.loc[run.fleet.parts["part"] == "SEAL-7", "replace_every"] = 600.0
    why = cell_of(replace_now_sheet(run).tables[0].rows[0], sheet, "Why")
    assert "It is to be changed every 600 h." in why


def test_orders_come_the_most_urgent_first_with_their_charges():
    rows = buy_sheet(make_run()).tables[0].rows
    headings = [row.cells[0] for row in rows if row.look == "group"]
    assert headings == [
        "Far Parts (mail order), for Base store: order by 2031-04-12",
        "Quayside (local), for Base store: order by 2031-05-01",
    ]
    sums = [row.cells[7] for row in rows if row.look in ("subtotal", "total")]
    assert sums == [3 * 24 + 15 + 25, 4 * 11 + 44, 200]


def test_stow_list_shows_only_what_is_stowed_fitted_or_aboard():
    heron, osprey = stow_sheets(make_run())
    parts = [row.cells[2] for row in heron.tables[0].rows if row.look == "plain"]
    assert "SEAL-7" not in parts
    assert [row.look for row in osprey.tables[0].rows] == ["plain", "total"]
    assert f"Departs {DEPARTS}" in heron.lead[0]
    assert "mass 1.4 of 60 kg" in heron.lead[0]
    assert any("initials" in line for line in heron.after)


def test_part_lives_for_the_mechanic():
    sheet, _, _ = part_lives_sheets(make_run())
    bilge, impeller, seal = sheet.tables[0].rows
    assert cell_of(impeller, sheet, "Best age to change") == 420.0
    assert cell_of(impeller, sheet, "Saves per 1,000") == 212.5
    assert cell_of(impeller, sheet, "Oldest piece now fitted") == "Heron, engine: 420 h"
    assert cell_of(impeller, sheet, "Rests on; what stands out") == "records"
    # Heron fails its pieces 1.4 times as often; nodes: shape 2, scale 700.
    hazard = 1.4 * (520**2 - 420**2) / 700**2
    chance = cell_of(impeller, sheet, "Chance it fails in 100 h / 90 days")
    assert chance == pytest.approx(1 - math.exp(-hazard))
    assert cell_of(seal, sheet, "Oldest piece now fitted") == "Osprey / west, port engine: 512 h"
    assert cell_of(seal, sheet, "Best age to change") is None
    assert cell_of(seal, sheet, "Rests on; what stands out") == "no failures yet"
    assert cell_of(bilge, sheet, "Oldest piece now fitted") == ""
    assert cell_of(bilge, sheet, "Chance it fails in 100 h / 90 days") is None
    assert cell_of(bilge, sheet, "Rests on; what stands out") == (
        "no records: rests on expectation alone"
    )


def test_run_to_failure_is_said_where_no_age_pays():
    best = make_best_age(age=None, cost=512.5)
    run = with_ageing(make_run(), "IMP-1", best_age=best)
    sheet = part_lives_sheets(run)[0]
    impeller = sheet.tables[0].rows[1]
    assert cell_of(impeller, sheet, "Best age to change") == "run to failure"
    assert cell_of(impeller, sheet, "Saves per 1,000") is None


def test_tests_are_told_in_numbers_and_words_where_there_are_any():
    sheet = part_lives_sheets(make_run())[2]
    (impeller,) = sheet.tables[0].rows
    assert cell_of(impeller, sheet, "Part") == "IMP-1"
    assert cell_of(impeller, sheet, "Trend, z") == 0.4
    assert cell_of(impeller, sheet, "Wear, times likelier") == 31.0
    assert cell_of(impeller, sheet, "Wearing out, or at random?") == "wears out with age, clearly"
    assert cell_of(impeller, sheet, "Newest: failed") == 1
    assert sheet.after == ("2 parts have too few failures to tell any of this.",)
    blank = dict.fromkeys(("trend_z", "boats_p", "wear_ratio", "newest_p"))
    for tests in (None, make_tests(**blank)):
        sheet = part_lives_sheets(with_ageing(make_run(), "IMP-1", tests=tests))[2]
        assert sheet.after == ("3 parts have too few failures to tell any of this.",)
        assert sheet.tables[0].rows == ()
        assert not sheet.sortable


def test_what_the_fleet_taught():
    words = dict(learnt(make_run().ageing))
    assert words["Family impellers, by hours"] == (
        "4 parts watched, 3 with failures, 12 in all: lives are 0.9 times the expected ones "
        "(0.65 to 1.3 for 9 members in 10); shape 2.4."
    )
    assert words["Whether boats differ"] == "some boats fail their parts faster than others."
    assert words["How many times as often a boat's pieces fail"] == (
        "Heron 1.40; Osprey / west 0.70."
    )
    assert "How long parts last" not in words


def test_boats_that_do_not_differ_have_no_table_of_factors():
    spread = make_boat_spread(used=False, words="taken as alike")
    ageing = Ageing(parts={}, notes=(), life_factor=0.8, boat_spread=spread)
    assert learnt(ageing) == [
        ("How long parts last", "0.8 times as long as expected, over all parts."),
        ("Whether boats differ", "taken as alike."),
    ]
    assert learnt(Ageing(parts={}, notes=())) == []


def test_a_family_without_expected_lives():
    family = make_family(by_expected_life=False, life=640.0, life_spread=0.0)
    (row,) = learnt(Ageing(parts={}, notes=(), families=(family,)))
    assert "the mean life is 640 hours (640 to 640 for 9 members in 10);" in row[1]


def test_replace_now_tells_the_chance_of_failing_on_the_plan():
    legs = [
        {
            "boat": "Heron",
            "departs_on": DEPARTS,
            "days": 7,
            "hours": 20,
            "times": 3,
            "to_port": "Amber",
        }
    ]
    run = make_run()
    run = replace(run, fleet=replace(run.fleet, legs=make_fleet(legs=legs).legs))
    sheet = replace_now_sheet(run)
    impeller = sheet.tables[0].rows[0]
    chance = 1 - math.exp(-1.4 * (480**2 - 420**2) / 700**2)
    assert cell_of(impeller, sheet, "Why") == (
        "The oldest has run 420 h of a mean life of 624 h. Left as it is, its chance of failing "
        f"on the plan is {100 * chance:.1f} %."
    )


def test_glance_counts_weak_data():
    lead = " ".join(glance_sheet(make_run()).lead)
    assert "Of 3 parts, 2 have fewer than 3 failures on record and 1 rest" in lead
    assert "proven within 0.30 EUR (0.06 %) of the best" in lead
    assert "2 doubtful things" in lead


def test_assumptions_are_the_settings_in_words():
    settings = Settings(
        planned_on=DEPARTS, budget=4000.0, readiness=0.95, rates={"USD": 0.92}, carry_over=0.4
    )
    words = dict(assumptions(settings))
    assert words["Budget over all"] == "4,000.00 EUR."
    assert words["Least readiness of each boat"] == "95.0 %."
    assert words["Money"] == "EUR; 1 USD = 0.92 EUR."
    assert words["Worth of what is left over"].startswith("40.0 %")
    assert dict(assumptions(Settings(planned_on=DEPARTS)))["Budget over all"] == "none."


def test_cautions_defer_to_rules_manuals_and_licensed_people():
    text = " ".join(
        str(cell)
        for table in how_sheet(make_run()).tables
        for row in table.rows
        for cell in row.cells
    )
    for word in (
        "codes",
        "flag state",
        "classification",
        "manuals",
        "licensed",
        "never traded for money",
        "carry_at_least",
    ):
        assert word in text
