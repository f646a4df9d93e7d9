"""How much a printed page holds, so that tables and charts begin where they stay together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockopt.units import Paper

#: Width and height of paper held upright, in points of 1/72 inch.
PAPER_POINTS: Mapping[Paper, tuple[float, float]] = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}
#: Margins of every page, in inches.
SIDE_MARGIN, TOP_MARGIN, BOTTOM_MARGIN = 0.4, 0.45, 0.75
INCH = 72.0
#: Width of one digit of the report's font in a cell, in points: programs take 5.25 to 5.67.
DIGIT_POINTS = 5.4
#: Share of a page that is counted on: programs differ a little in the height of a row.
COUNTED_ON = 0.99


def page_points(widths: Sequence[float], paper: Paper, *, portrait: bool) -> float:
    """Return how many points of rows a page holds, once shrunk to the width of the paper.

    Parameters
    ----------
    widths
        Of the columns, in digits.
    paper, portrait
        What it is printed on, and whether that is held upright.

    Examples
    --------
    >>> round(page_points([50.0], "a4", portrait=True))
    748
    >>> page_points([200.0], "a4", portrait=True) > page_points([100.0], "a4", portrait=True)
    True
    """
    across, down = PAPER_POINTS[paper] if portrait else PAPER_POINTS[paper][::-1]
    room = across - 2 * SIDE_MARGIN * INCH
    scale = min(1.0, room / max(DIGIT_POINTS * sum(widths), 1.0))
    return COUNTED_ON * (down - (TOP_MARGIN + BOTTOM_MARGIN) * INCH) / scale


@dataclass(slots=True)
class PageSoFar:
    """What of the present page is used.

    Parameters
    ----------
    holds
        Points of rows on a page.
    repeated
        Points of the rows that stand at the top of every page.
    used
        Points used so far.
    """

    holds: float
    repeated: float = 0.0
    used: float = 0.0

    def add(self, points: float) -> None:
        """Take a row; one that does not fit begins the next page."""
        if self.used + points > self.holds:
            self.used = self.repeated
        self.used += points

    def turn(self) -> None:
        """Begin the next page."""
        self.used = self.repeated

    def has_room(self, points: float) -> bool:
        """Return whether so much fits below what is there."""
        return self.used + points <= self.holds

    def could_hold(self, points: float) -> bool:
        """Return whether a page of its own would hold so much."""
        return self.repeated + points <= self.holds
