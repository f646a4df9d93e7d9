"""A plan of boats and their store: every corruption of what the store keeps is caught."""

import dataclasses
from dataclasses import replace
from datetime import date, timedelta

import pytest
from end_to_end_builders import write_fleet

from stockopt.pipeline import plan_fleet
from stockopt.plan import StoreLine
from stockopt.plan_check import PlanCheckError, check_plan


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    fleet = write_fleet(tmp_path_factory.mktemp("stores") / "tiny")
    return plan_fleet(fleet, {"gap": 0.0}, lambda _: None)


def complaint(run, **changes):
    with pytest.raises(PlanCheckError) as raised:
        check_plan(replace(run.plan, **changes), run.solution, run.choices)
    return str(raised.value)


def number_of(run, field):
    """Return the line to spoil: the first of which the field tells something."""
    told = [bool(getattr(line, field)) for line in run.plan.stores]
    return told.index(True) if True in told else 0


def another(value):
    if isinstance(value, str):
        return value + "x"
    if isinstance(value, tuple):
        return (*value, ("Heron", 1))
    if isinstance(value, int | float):
        return value + 1
    return date(2031, 9, 1) if value is None else value + timedelta(days=1)


def test_the_plan_itself_passes(run):
    assert run.plan.stores
    check_plan(run.plan, run.solution, run.choices)


@pytest.mark.parametrize("field", [field.name for field in dataclasses.fields(StoreLine)])
def test_any_changed_field_is_caught(run, field):
    number = number_of(run, field)
    lines = list(run.plan.stores)
    lines[number] = replace(lines[number], **{field: another(getattr(lines[number], field))})
    complaint(run, stores=tuple(lines))


def test_a_line_left_out_is_caught(run):
    assert "not one for each store and part" in complaint(run, stores=run.plan.stores[1:])


def test_other_dead_stock_is_caught(run):
    assert "dead stock" in complaint(run, dead_stock=(*run.plan.dead_stock, "x"))
