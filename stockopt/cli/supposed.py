"""The options that suppose something for one plan only."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

from stockopt.cli.kinds import DAY
from stockopt.fleet.what_if import Wanted

_Function = TypeVar("_Function", bound=Callable[..., Any])

#: Factors on a failure rate beyond these are slips of the finger.
_LEAST_FACTOR, _MOST_FACTOR = 0.01, 100.0
#: So are more spares of one part than this.
_MOST_PINNED = 10_000


# Older versions of click that are allowed do not have the type as a generic one.
class Named(click.ParamType):  # type: ignore[type-arg]
    """NAME=VALUE; a name may hold an equals sign itself.

    Parameters
    ----------
    name
        What the help calls it.
    read
        Makes the value from its text; raises ValueError where it is not right.
    right
        What would be right, in words.
    colon
        True where the name must hold a colon.
    """

    def __init__(
        self, name: str, read: Callable[[str], Any], right: str, *, colon: bool = False
    ) -> None:
        self.name = name
        self._read = read
        self._right = right
        self._colon = colon

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> tuple[str, Any]:
        """Return the name and its value, or say what would be right."""
        name, _, text = str(value).rpartition("=")
        name = name.strip()
        pair = name.partition(":")
        if not name or (self._colon and not (pair[0].strip() and pair[2].strip())):
            self.fail(f"'{value}' is not {self.name}, {self._right}.", param, ctx)
        try:
            return name, self._read(text.strip())
        except ValueError:
            self.fail(f"'{text.strip()}' in '{value}' is wrong: {self._right}.", param, ctx)


def read_factor(text: str) -> float:
    """Return a factor written as x1.5, ×1.5 or 1.5."""
    factor = float(text.removeprefix("x").removeprefix("X").removeprefix("×"))
    if not (math.isfinite(factor) and _LEAST_FACTOR <= factor <= _MOST_FACTOR):
        raise ValueError(text)
    return factor


def read_count(text: str) -> int:
    """Return a whole number of pieces."""
    count = int(text)
    if not 0 <= count <= _MOST_PINNED:
        raise ValueError(text)
    return count


def _read_day(text: str) -> date:
    try:
        return DAY.convert(text, None, None)
    except click.BadParameter:
        raise ValueError(text) from None


def supposed(function: _Function) -> _Function:
    """Add --without, --departs, --rate and --pin; they arrive together as `wanted`."""

    @functools.wraps(function)
    def gathered(
        *args: Any,  # noqa: ANN401 - whatever the command takes
        without: tuple[str, ...],
        departs: tuple[tuple[str, date], ...],
        rates: tuple[tuple[str, float], ...],
        pins: tuple[tuple[str, int], ...],
        **kwargs: Any,  # noqa: ANN401
    ) -> Any:  # noqa: ANN401
        wanted = Wanted(without=without, departs=departs, rates=rates, pins=pins)
        return function(*args, wanted=wanted, **kwargs)

    for decorator in reversed(_OPTIONS):
        gathered = decorator(gathered)
    return gathered  # type: ignore[return-value]


_OPTIONS = (
    click.option(
        "--without",
        multiple=True,
        metavar="SOURCE",
        help="Suppose that SOURCE sells nothing; what nobody else sells cannot be bought.",
    ),
    click.option(
        "--departs",
        multiple=True,
        type=Named("BOAT=DATE", _read_day, "such as Heron=2031-05-10"),
        metavar="BOAT=DATE",
        help="Suppose that BOAT leaves on DATE; her later legs move by as many days.",
    ),
    click.option(
        "--rate",
        "rates",
        multiple=True,
        type=Named("PART=xFACTOR", read_factor, "such as SEAL-7=x1.5, between x0.01 and x100"),
        metavar="PART=xFACTOR",
        help="Suppose that PART, at every age, fails so many times as often, such as SEAL-7=x1.5.",
    ),
    click.option(
        "--pin",
        "pins",
        multiple=True,
        type=Named(
            "BOAT:PART=PIECES", read_count, "such as Heron:SEAL-7=2, whole pieces", colon=True
        ),
        metavar="BOAT:PART=PIECES",
        help="Carry exactly so many and plan the rest, such as Heron:SEAL-7=2.",
    ),
)
