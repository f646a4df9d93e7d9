"""What is printed: within 80 columns, without colour when piped, and never failing on a letter."""

from dataclasses import replace
from pathlib import Path

import pytest
from printed import check_width, printed
from report_builders import make_boat, make_run

from stockopt.errors import Problem
from stockopt.orders.orders import NO_ORDERS
from stockopt.report.run import Checked
from stockopt.report.terminal import note_text, print_check, print_plan


@pytest.fixture
def run():
    return make_run()


def test_the_summary_of_a_plan(run):
    text = printed(print_plan, run, [("Report", Path("reports/tiny.xlsx"))])
    check_width(text)
    for words in (
        "200.00 EUR",
        "300.00 EUR",
        "500.00 EUR",
        "proven within 0.30 EUR (0.06 %) of the best",
        "reports/tiny.xlsx",
        "2 doubtful things",
        "2031-04-12",
    ):
        assert words in text
    heron = next(line for line in text.splitlines() if line.strip().startswith("Heron"))
    assert heron.split() == ["Heron", "2031-05-03", "1", "of", "60", "155", "97.1", "%", "1"]


def test_long_names_fold_and_numbers_do_not(run):
    boats = (make_boat("The Unsinkable Grand Duchess of the Outer Isles", spend_now=1234567.0),)
    text = printed(print_plan, replace(run, plan=replace(run.plan, boats=boats)), [])
    check_width(text)
    assert "1,234,567" in text


def test_square_brackets_in_a_name_are_no_markup(run):
    boats = (make_boat("[red]Rosa[/red]"),)
    text = printed(
        print_plan, replace(run, plan=replace(run.plan, boats=boats), orders=NO_ORDERS), []
    )
    assert "[red]Rosa[/red]" in text
    assert "Nothing to buy." in text


def test_a_terminal_that_knows_only_ascii(run):
    text = printed(print_plan, run, [], encoding="ascii")
    assert text.isascii()
    assert "Heron" in text


def test_check(run):
    text = printed(print_check, Checked(fleet=run.fleet, notes=run.plan.notes))
    check_width(text)
    assert "no errors" in text
    assert "readings, row 7, hours: =runs backwards; left out" in text
    assert "stock: no count is dated" in text
    clean = printed(print_check, Checked(fleet=run.fleet, notes=()))
    assert "Nothing doubtful was found." in clean


def test_check_says_what_is_still_to_be_filled_in(run):
    unfilled = (Problem(table="legs", expected="has no row: list them"),)
    text = printed(print_check, Checked(fleet=run.fleet, notes=(), unfilled=unfilled))
    assert "Still to be filled in before there is anything to plan:" in text
    assert "- legs: has no row: list them" in text


def test_note_text(run):
    assert note_text(run.plan.notes[1]) == "stock: no count is dated"
