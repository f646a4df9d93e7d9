"""Sheet "Data notes": what was doubtful in the tables, and what was done about it."""

from __future__ import annotations

from stockopt.report.run import Run
from stockopt.report.sheet import Column, Sheet, Table, plain_rows

COLUMNS = (
    Column(title="Table", width=20),
    Column(title="Row", width=8, kind="whole"),
    Column(title="Column", width=18),
    Column(title="What was found, and what was done about it", width=100, kind="prose"),
)


def data_notes_sheet(run: Run) -> Sheet:
    """Return every note, by table and row."""
    rows = [(note.table, note.row, note.column, note.text) for note in run.plan.notes]
    return Sheet(
        name="Data notes",
        title="Doubtful things in the tables",
        lead=("None of these stopped the plan. Row 1 is the header of the table.",),
        tables=(Table(columns=COLUMNS, rows=plain_rows(rows)),),
        after=() if rows else ("Nothing doubtful was found.",),
        sortable=bool(rows),
    )
