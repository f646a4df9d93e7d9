"""Survival curves drawn with letters, for a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from stockopt.report.survival import Curves, Floats
from stockopt.report.words import brief

#: Ages across and steps of survival down.
WIDTH = 64
HEIGHT = 13
#: Of every so many rows, one is labelled.
LABELLED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """The letters of a chart: for the lives, the fitted curve, its band, and the two axes."""

    lives: str
    fitted: str
    band: str
    corner: str
    across: str
    down: str


BLOCKS = Marks(lives="█", fitted="•", band="░", corner="└", across="─", down="│")
LETTERS = Marks(lives="#", fitted="*", band=".", corner="+", across="-", down="|")


def marks_for(encoding: str) -> Marks:
    """Return the letters that a terminal of some encoding can show.

    Examples
    --------
    >>> marks_for("utf-8").lives, marks_for("ascii").lives
    ('█', '#')
    """
    try:
        "".join((BLOCKS.lives, BLOCKS.fitted, BLOCKS.band, BLOCKS.corner)).encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return LETTERS
    return BLOCKS


def draw_chart(curves: Curves, unit: str, marks: Marks) -> list[str]:
    """Return the lines of a chart of the curves, with axes and the meaning of its letters.

    Parameters
    ----------
    curves
        Both curves; the fitted one told at :data:`WIDTH` ages.
    unit
        Of age.
    marks
        Letters to draw with.
    """
    fitted = curves.fitted
    page = np.full((HEIGHT, WIDTH), " ")
    for column, (low, high) in enumerate(zip(_row(fitted.low), _row(fitted.high), strict=True)):
        page[high : low + 1, column] = marks.band
    _draw(page, fitted.survival, marks.fitted)
    watched = fitted.age <= _last_seen(curves)
    if watched.any() and len(curves.steps.age):
        _draw(page, curves.steps.at(fitted.age[watched]), marks.lives)
    return [
        *_with_left_axis(page, marks),
        f"{'':6}{marks.corner}{marks.across * WIDTH}",
        _ages(float(fitted.age[-1]), unit),
        f"{'':7}{marks.lives} from the lives alone  {marks.fitted} fitted  "
        f"{marks.band} where it is 9 times in 10",
    ]


def _draw(page: np.ndarray, survival: Floats, mark: str) -> None:
    """Draw a falling curve, with no gap where it falls by several rows at once."""
    rows = _row(survival)
    for column, (before, row) in enumerate(zip([rows[0], *rows], rows, strict=False)):
        page[min(before + 1, row) : row + 1, column] = mark


def _row(survival: Floats) -> list[int]:
    """Return the row of each survival: 0 for 1, the last for 0."""
    rows: list[int] = np.rint((1.0 - survival) * (HEIGHT - 1)).astype(int).tolist()
    return rows


def _last_seen(curves: Curves) -> float:
    """Return the greatest age to which a piece was watched."""
    return float(max(curves.unfailed.max(initial=0.0), curves.steps.age.max(initial=0.0)))


def _with_left_axis(page: np.ndarray, marks: Marks) -> Iterable[str]:
    for number, row in enumerate(page.tolist()):
        share = 100.0 * (1.0 - number / (HEIGHT - 1))
        label = f"{share:.0f} %" if number % LABELLED == 0 else ""
        yield f"{label:>5} {marks.down}{''.join(row)}".rstrip()


def _ages(last: float, unit: str) -> str:
    """Return the labels below the chart: its beginning, middle and end."""
    end = f"{brief(last, 2)} {unit}"
    middle = brief(last / 2.0, 2)
    line = f"{'':7}0"
    line = line.ljust(7 + WIDTH // 2 - len(middle) // 2) + middle
    return line.ljust(7 + WIDTH - len(end)) + end
