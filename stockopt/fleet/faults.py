"""How the checks across tables say what is wrong with which rows."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterator
from datetime import date
from functools import cached_property

import pandas as pd

from stockopt.errors import Problem

#: Suggestions cost time: only so many names that are not known get one.
MOST_SUGGESTIONS = 50

#: So many rows are named one by one in a note.
_MOST_ROWS = 8


def find_faults(
    table: str,
    frame: pd.DataFrame,
    wrong: pd.Series[bool],
    column: str,
    expected: str | Callable[[str], str],
) -> Iterator[Problem]:
    """Yield a problem for each row of the table where `wrong` is true.

    Parameters
    ----------
    table, frame
        Its name and rows.
    wrong
        By row.
    column
        The column to mend.
    expected
        What would be right, or a function that says so of the value shown.
    """
    for row, value in frame.loc[wrong, column].items():
        text = shown(value)
        yield Problem(
            table=table,
            row=int(str(row)),
            column=column,
            value=text,
            expected=expected if isinstance(expected, str) else expected(text),
        )


def shown(value: object) -> str:
    """Return a value as a person writes it.

    Examples
    --------
    >>> shown(pd.Timestamp("2031-04-01")), shown(5.0), shown(pd.NaT)
    ('2031-04-01', '5', '')
    """
    if value is None or value is pd.NaT or value != value:
        return ""
    if isinstance(value, date):
        return value.isoformat()[:10]
    return f"{value:g}" if isinstance(value, float) else str(value)


def rows_in_words(rows: list[int]) -> str:
    """Return rows in words, the first of them one by one.

    Examples
    --------
    >>> rows_in_words([2, 3])
    'rows 2, 3'
    """
    first = ", ".join(map(str, rows[:_MOST_ROWS]))
    more = f" and {len(rows) - _MOST_ROWS} more" if rows[_MOST_ROWS:] else ""
    return f"row{'s' if len(rows) > 1 else ''} {first}{more}"


class Meant:
    """Guesses which of the names known a name is a slip of.

    Parameters
    ----------
    known
        The names.
    where
        Where names of this kind are defined, for the message.
    """

    def __init__(self, known: Collection[str], where: str) -> None:
        self.known = sorted(name for name in known if name)
        self.where = where
        self._hints: dict[str, str] = {}

    def __call__(self, name: str) -> str:
        """Return what would be right in place of `name`."""
        if name not in self._hints:
            near = self._near(name) if len(self._hints) < MOST_SUGGESTIONS else None
            hint = f"is '{near}' meant?" if near else "add it there, or mend it here"
            self._hints[name] = f"is not in {self.where}: {hint}"
        return self._hints[name]

    @cached_property
    def _bare(self) -> dict[str, str]:
        return {_bare(name): name for name in self.known}

    def _near(self, name: str) -> str | None:
        if (bare := _bare(name)) in self._bare:
            return self._bare[bare]
        folded = {known.casefold(): known for known in self.known}
        near = difflib.get_close_matches(name.casefold(), folded, n=1, cutoff=0.7)
        return folded[near[0]] if near else None


def _bare(name: str) -> str:
    """Return a name without what spreadsheets and hasty fingers change.

    Examples
    --------
    >>> _bare("00O12-a") == _bare("12 A")
    True
    """
    return re.sub(r"[\W_]", "", name.casefold()).replace("o", "0").lstrip("0")
