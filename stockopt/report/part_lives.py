"""Sheets "Part lives" and "Part lives, fit": how long parts last, and how sure that is."""

from __future__ import annotations

from stockopt.ageing.ageing import PartAgeing
from stockopt.report.run import PartLives, Run
from stockopt.report.sheet import Cell, Column, Sheet, Table, plain_rows
from stockopt.report.words import ageing_text

COLUMNS = (
    Column(title="Part", width=13),
    Column(title="Name", width=34, kind="prose"),
    Column(title="Clock", width=8),
    Column(title="Pieces watched", width=9, kind="whole"),
    Column(title="Failures", width=9, kind="whole"),
    Column(title="Watched, on its clock", width=10, kind="whole"),
    Column(title="Failures per 1,000", width=10, kind="rate"),
    Column(title="low", width=8, kind="rate"),
    Column(title="high", width=8, kind="rate"),
    Column(title="Mean life", width=9, kind="whole"),
    Column(title="low", width=9, kind="whole"),
    Column(title="high", width=9, kind="whole"),
    Column(title="How it ages", width=18, kind="prose"),
    Column(title="Rests on", width=18, kind="prose"),
)
FIT_COLUMNS = (
    Column(title="Part", width=14),
    Column(title="Name", width=34, kind="prose"),
    Column(title="Clock", width=8),
    Column(title="Shape", width=9, kind="number"),
    Column(title="low", width=9, kind="number"),
    Column(title="high", width=9, kind="number"),
    Column(title="Scale", width=9, kind="whole"),
    Column(title="Best fit: shape", width=10, kind="number"),
    Column(title="Best fit: scale", width=10, kind="whole"),
    Column(title="What was expected beforehand", width=64, kind="prose"),
)


def part_lives_sheets(run: Run) -> list[Sheet]:
    """Return every part's life for the mechanic, and its fit for the statistician."""
    watched, names = pieces_watched(run), part_names(run)
    parts = run.ageing.parts.values()
    return [
        Sheet(
            name="Part lives",
            title="How long parts last",
            lead=(
                "Low and high are 90 % intervals. Failures per 1,000 hours (or days) come from the "
                "records alone, as if age did not matter; mean life weighs the records with what "
                "was expected.",
            ),
            tables=(
                Table(
                    columns=COLUMNS,
                    rows=plain_rows(
                        _life(part, names.get(part.part, ""), watched.get(part.part, 0))
                        for part in parts
                    ),
                ),
            ),
            sortable=True,
            fixed_columns=2,
        ),
        Sheet(
            name="Part lives, fit",
            title="How long parts last: the Weibull fit behind it",
            lead=(
                "Shape above 1: fails more often with age; shape 1: at any age alike. Low and high "
                "are 90 % intervals. 'Best fit' is maximum likelihood on the records alone, where "
                "there are at least 3 failures.",
            ),
            tables=(
                Table(
                    columns=FIT_COLUMNS,
                    rows=plain_rows(_fit(part, names.get(part.part, "")) for part in parts),
                ),
            ),
            sortable=True,
            fixed_columns=2,
        ),
    ]


def _life(part: PartAgeing, name: str, watched: int) -> tuple[Cell, ...]:
    return (
        part.part,
        name,
        part.clock,
        watched,
        part.failures,
        part.exposure,
        part.rate_per_1000,
        None if part.rate_per_1000 is None else part.rate_low,
        part.rate_high,
        part.mean_life,
        part.mean_life_low,
        part.mean_life_high,
        ageing_text(part),
        rests_on(part),
    )


def _fit(part: PartAgeing, name: str) -> tuple[Cell, ...]:
    return (
        part.part,
        name,
        part.clock,
        part.shape,
        part.shape_low,
        part.shape_high,
        part.scale,
        part.ml_shape,
        part.ml_scale,
        part.prior,
    )


def pieces_watched(run: Run | PartLives) -> dict[str, int]:
    """Return the number of lives seen, ended or not, by part."""
    return {str(part): int(n) for part, n in run.lives.lives.groupby("part").size().items()}


def part_names(run: Run | PartLives) -> dict[str, str]:
    """Return each part's name."""
    parts = run.fleet.parts
    return dict(zip(parts["part"], parts["name"], strict=True))


def rests_on(part: PartAgeing) -> str:
    """Say whether records or expectation speak.

    A part watched without a failure still has its records: they say that it lasts.
    """
    if part.prior_only:
        return "expectation alone"
    return "records, no failure" if part.failures == 0 else "records"
