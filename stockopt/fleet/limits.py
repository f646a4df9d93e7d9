"""The limits of each column, checked by pandera: blank, too small, too large, wrong word."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pandas as pd
import pandera.pandas as pa

from stockopt.errors import Problem
from stockopt.fleet.columns import Column, Table
from stockopt.fleet.sheet import Sheet, word

_WHOLE = "must be a whole number"


def check_limits(frame: pd.DataFrame, sheet: Sheet, table: Table) -> Iterator[Problem]:
    """Find every cell outside the limits of its column.

    Parameters
    ----------
    frame
        The table as read from the sheet, defaults not yet filled in.
    sheet
        The cells as found, for the messages.
    table
        Which table it is.
    """
    if frame.empty:
        return
    headings = [word(str(heading)) for heading in sheet.cells.columns]
    found_as = {column.name: column.find(headings) for column in table.columns}
    present = [name for name, heading in found_as.items() if heading is not None]
    try:
        _schema(table).validate(frame[present], lazy=True)
    except pa.errors.SchemaErrors as errors:
        cases = errors.failure_cases
    else:
        return
    for column, row, expected in zip(cases["column"], cases["index"], cases["check"], strict=True):
        heading = found_as[column] or column
        found = sheet.cells.iloc[:, headings.index(heading)].at[row]
        yield Problem(
            table=sheet.label,
            row=int(row),
            column=heading,
            value=" ".join(str(found).split()),
            expected=expected,
        )


@cache
def _schema(table: Table) -> pa.DataFrameSchema:
    """Return the pandera schema of one table."""
    return pa.DataFrameSchema(
        {
            column.name: pa.Column(checks=list(_checks(column)), nullable=True, required=False)
            for column in table.columns
        }
    )


def _checks(column: Column) -> Iterator[pa.Check]:
    """Yield the checks of one column, the message of each as its name."""
    if column.required:
        # Not nullable=False: its message could not say what to fill in.
        yield pa.Check(
            lambda values: values.ne("") & values.notna(),
            ignore_na=False,
            error=f"is blank: fill it in ({column.help}), or take the row out",
        )
    if column.choices:
        allowed = [*column.choices, ""]
        words = ", ".join(column.choices[:-1]) + f" or {column.choices[-1]}"
        yield pa.Check.isin(allowed, error=f"must be {words}")
    if column.kind == "whole":
        yield pa.Check(lambda values: values.mod(1).eq(0), error=_WHOLE)
    if column.least is not None and column.above is None:
        yield pa.Check.ge(column.least, error=f"must be at least {column.least:g}")
    if column.above is not None:
        yield pa.Check.gt(column.above, error=f"must be greater than {column.above:g}")
    if column.below is not None:
        yield pa.Check.lt(column.below, error=f"must be less than {column.below:g}")
    if column.most is not None:
        yield pa.Check.le(column.most, error=f"must be at most {column.most:g}")
