"""What the sheets say, as plain values."""

from report_builders import (
    DEPARTS,
    make_ageing,
    make_carry,
    make_plan,
    make_positions,
    make_run,
)

from stockopt.report.buy import order_total, orders_of
from stockopt.report.glance import glance_sheet
from stockopt.report.how import assumptions, how_sheet
from stockopt.report.part_lives import part_lives_sheets, rests_on
from stockopt.report.replace_now import oldest, replace_now_sheet
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


def test_oldest_counts_an_unknown_age_as_the_oldest():
    seals = make_positions().iloc[1:]
    assert [place["age_at_least"] for place in oldest(seals, 2)] == [498.0, 512.0]
    assert oldest(seals, 0) == []


def test_replace_now_copes_with_a_part_that_no_other_room_knows():
    run = make_run(carry=(make_carry("Heron", "BILGE-2", replace_now=1),))
    (row,) = replace_now_sheet(run).tables[0].rows
    assert len(row.cells) == 10


def test_orders_come_the_most_urgent_first_with_their_charges():
    plan = make_plan()
    assert [key for key, _ in orders_of(plan)] == [
        ("Far Parts", "Base store"),
        ("Quayside", "Base store"),
    ]
    assert order_total(plan, "Far Parts", "Base store") == 3 * 24 + 15 + 25
    assert order_total(plan, "Quayside", "Base store") == 4 * 11 + 44


def test_stow_list_shows_only_what_is_stowed_fitted_or_aboard():
    heron, osprey = stow_sheets(make_run())
    parts = [row.cells[2] for row in heron.tables[0].rows if row.look == "plain"]
    assert "SEAL-7" not in parts
    assert [row.look for row in osprey.tables[0].rows] == ["plain", "total"]
    assert f"Departs {DEPARTS}" in heron.lead[0]
    assert "mass 1.4 of 60 kg" in heron.lead[0]
    assert any("initials" in line for line in heron.after)


def test_part_lives_says_what_they_rest_on():
    assert rests_on(make_ageing("IMP-1")) == "records"
    assert rests_on(make_ageing("IMP-1", failures=0)) == "records, no failure"
    assert rests_on(make_ageing("IMP-1", failures=0, prior_only=True)) == "expectation alone"


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
