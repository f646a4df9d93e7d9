"""Sheet "Part lives, tests": four questions to each part's records, in numbers and words."""

from __future__ import annotations

from collections.abc import Collection

from stockopt.ageing.ageing import PartAgeing, PartTests
from stockopt.report.sheet import Cell, Column, Sheet, Table, plain_rows
from stockopt.report.words import pieces_text

COLUMNS = (
    Column(title="Part", width=13),
    Column(title="Failures", width=9, kind="whole"),
    Column(title="Trend, z", width=8, kind="number"),
    Column(title="p", width=8, kind="rate"),
    Column(title="Are failures coming faster?", width=28, kind="prose"),
    Column(title="Boats, ratio", width=8, kind="number"),
    Column(title="p", width=8, kind="rate"),
    Column(title="Do boats differ?", width=22, kind="prose"),
    Column(title="Wear, times likelier", width=9, kind="number"),
    Column(title="Wearing out, or at random?", width=28, kind="prose"),
    Column(title="Newest: failed", width=8, kind="whole"),
    Column(title="to be expected", width=9, kind="number"),
    Column(title="p", width=8, kind="rate"),
    Column(title="Do the newest pieces fail sooner?", width=32, kind="prose"),
)


def part_tests_sheet(parts: Collection[PartAgeing]) -> Sheet:
    """Return the tests of every part whose records answer any of the questions."""
    rows = [
        _row(part.part, part.failures, part.tests)
        for part in parts
        if part.tests is not None and _tells(part.tests)
    ]
    silent = len(parts) - len(rows)
    few = f"{pieces_text(silent, 'part')} {'has' if silent == 1 else 'have'} too few failures"
    return Sheet(
        name="Part lives, tests",
        title="How long parts last: what the records say of trend, boats, wear and newest pieces",
        lead=(
            "p is the chance of as much by accident: of 20 parts where nothing is the matter, one "
            "shows a p below 0.05. Trend: Laplace's statistic, positive where failures come faster "
            "than the pieces' ages explain. Boats: twice the log likelihood ratio of a rate for "
            "each boat against one for all. Wear: how many times likelier the records are with "
            "ageing than with a constant rate.",
        ),
        tables=(Table(columns=COLUMNS, rows=plain_rows(rows)),),
        after=(f"{few} to tell any of this.",) if silent else (),
        sortable=bool(rows),
        fixed_columns=1,
    )


def _tells(tests: PartTests) -> bool:
    answers = (tests.trend_z, tests.boats_p, tests.wear_ratio, tests.newest_p)
    return any(answer is not None for answer in answers)


def _row(part: str, failures: int, tests: PartTests) -> tuple[Cell, ...]:
    return (
        part,
        failures,
        tests.trend_z,
        tests.trend_p,
        tests.trend,
        tests.boats_statistic,
        tests.boats_p,
        tests.boats,
        tests.wear_ratio,
        tests.wear,
        tests.newest_failures,
        tests.newest_expected,
        tests.newest_p,
        tests.newest,
    )
