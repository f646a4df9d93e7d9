"""The kinds of values that options take, each saying what would be right."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click


# Older versions of click that are allowed do not have the type as a generic one.
class Number(click.ParamType):  # type: ignore[type-arg]
    """A finite number; 95% stands for 0.95.

    Parameters
    ----------
    name
        What the help calls it.
    expected
        What would be right, in words.
    allows
        Whether a number is right.
    """

    def __init__(self, name: str, expected: str, allows: Callable[[float], bool]) -> None:
        self.name = name
        self._expected = expected
        self._allows = allows

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """Return the number, or say what would be right."""
        text = str(value).strip()
        try:
            number = float(text[:-1]) / 100.0 if text.endswith("%") else float(text)
        except ValueError:
            number = math.nan
        if not (math.isfinite(number) and self._allows(number)):
            self.fail(f"'{value}' is not {self._expected}.", param, ctx)
        return number


class Day(click.ParamType):  # type: ignore[type-arg]
    """A day, read as those in the tables are."""

    name = "DATE"

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> date:
        """Return the day, or say what would be right."""
        from stockopt.fleet.cells import CellError, parse_date

        try:
            return date.fromisoformat(str(parse_date(str(value).strip())))
        except CellError as error:
            self.fail(f"'{value}' {error}.", param, ctx)


class FleetPath(click.Path):
    """A folder or workbook that is there."""

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Any:  # noqa: ANN401 - click's own signature
        """Return the path, or say which may be meant."""
        if not Path(value).exists():
            from stockopt.fleet.read import what_fleet_is_meant

            self.fail(f"'{value}': {what_fleet_is_meant(Path(value))}", param, ctx)
        return super().convert(value, param, ctx)


FLEET = FleetPath(path_type=Path)
MONEY = Number("MONEY", "an amount of 0 or more, such as 4000", lambda amount: amount >= 0)
READINESS = Number(
    "SHARE", "a share above 0 and below 1, such as 0.95 or 95%", lambda share: 0 < share < 1
)
GAP = Number(
    "SHARE", "a share of 0 or more and below 1, such as 0.001 or 0.1%", lambda share: 0 <= share < 1
)
SECONDS = Number("SECONDS", "a number above 0", lambda seconds: seconds > 0)
DAY = Day()
NEW_FILE = click.Path(dir_okay=False, path_type=Path)
