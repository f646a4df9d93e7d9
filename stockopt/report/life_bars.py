"""Sheet "Life bars": how long parts last, as bars from one end of the interval to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from stockopt.ageing.ageing import PartAgeing
from stockopt.report.part_lives import part_names
from stockopt.report.run import Run
from stockopt.report.sheet import Chart, Column, Sheet, Table, plain_rows
from stockopt.report.words import unit_text

#: So many bars fit on a page, with the table that they are drawn from.
_BARS = 20
#: Bars end at so many times the longest mean life among them.
_LONGEST = 3.0


def life_bars_sheet(run: Run) -> Sheet:
    """Return bars for every part with lives of its own, by clock and from short lives to long."""
    names = part_names(run)
    fitted = set(run.lives.positions["part"])
    parts = [part for part in run.ageing.parts.values() if part.part in fitted]
    tables: list[Table] = []
    for clock in ("hours", "days"):
        own = sorted(
            (part for part in parts if part.clock == clock),
            key=lambda part: (part.mean_life, part.part),
        )
        pages = math.ceil(len(own) / _BARS)
        for page in range(pages):  # about as many on each
            several = own[len(own) * page // pages : len(own) * (page + 1) // pages]
            tables.append(_bars(several, names, clock))
    return Sheet(
        name="Life bars",
        title="How long parts last, as bars",
        lead=(
            "Each bar is the 90 % interval of the mean life: dark up to the mean, light beyond it. "
            "The shorter the bar, the surer. Bars are cut at three times the longest mean on their "
            "page.",
        ),
        portrait=True,
        tables=tuple(tables) or (_bars([], names, "hours"),),
    )


def _bars(parts: Sequence[PartAgeing], names: dict[str, str], clock: str) -> Table:
    unit = unit_text(clock)
    chart = Chart(
        title=f"Mean life, {unit}",
        across="",
        up="",
        kind="intervals",
        labels=1,
        values=(2, 3, 4),
    )
    return Table(
        heading=f"By {clock}",
        columns=(
            Column(title="Part", width=60, kind="prose"),
            Column(title=f"Low, {unit}", width=14, kind="whole"),
            Column(title=f"From low to the mean, {unit}", width=18, kind="whole"),
            Column(title=f"From the mean to high, {unit}", width=18, kind="whole"),
            Column(title="Failures", width=10, kind="whole"),
        ),
        rows=plain_rows(_rows(parts, names)),
        chart=chart if parts else None,
    )


def _rows(
    parts: Sequence[PartAgeing], names: dict[str, str]
) -> Iterator[tuple[str, float, float, float, int]]:
    cut = _LONGEST * max((part.mean_life for part in parts), default=0.0)
    for part in parts:
        low, high = min(part.mean_life_low, cut), min(part.mean_life_high, cut)
        mean = min(max(part.mean_life, low), high)
        name = f"{names.get(part.part, '')} ({part.part})"
        yield name, low, mean - low, high - mean, part.failures
