"""The reference of the tables."""

from dataclasses import fields

from stockopt.fleet.describe import describe_tables
from stockopt.fleet.tables import SETTINGS, TABLES
from stockopt.settings import Settings


def test_every_table_and_column_is_described_with_required_ones_in_bold():
    described = describe_tables().split("### ")[1:]
    sections = {section.split("\n", 1)[0]: section for section in described}
    assert list(sections) == [*TABLES, "settings"]
    for name, table in TABLES.items():
        assert ("Required." in sections[name]) == table.required
        for column in table.columns:
            bold = f"| **{column.name}** |" in sections[name]
            assert bold == column.required
            assert bold or f"| {column.name} |" in sections[name]


def test_every_setting_is_described_with_what_holds_without_it():
    section = describe_tables().split("### settings")[1]
    names = {column.name for column in SETTINGS.columns} | {"rates"}
    assert names == {field.name for field in fields(Settings)}
    assert "| seconds | longest time the solver may take, s (above 0) | 60 |" in section
    assert "| planned_on | day the plan is made for (date) | today |" in section


def test_each_line_is_a_row_of_three_cells():
    rows = [line for line in describe_tables().splitlines() if line.startswith("|")]
    assert {line.replace("\\|", "").count("|") for line in rows} == {4}
