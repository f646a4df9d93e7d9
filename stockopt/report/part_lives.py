"""Sheets "Part lives": how long parts last, and how sure that is."""

from __future__ import annotations

from stockopt.ageing.ageing import PartAgeing
from stockopt.report.fitted_now import SOON, FittedPiece, find_oldest
from stockopt.report.part_tests import part_tests_sheet
from stockopt.report.run import PartLives, Run
from stockopt.report.sheet import Cell, Column, Sheet, Table, plain_rows
from stockopt.report.words import ageing_text, standing_out

SOON_TEXT = f"{SOON['hours']:.0f} h / {SOON['days']:.0f} days"
COLUMNS = (
    Column(title="Part", width=13),
    Column(title="Name", width=32, kind="prose"),
    Column(title="Clock", width=7),
    Column(title="Pieces watched", width=9, kind="whole"),
    Column(title="Failures", width=9, kind="whole"),
    Column(title="Mean life", width=9, kind="whole"),
    Column(title="low", width=8, kind="whole"),
    Column(title="high", width=8, kind="whole"),
    Column(title="How it ages", width=20, kind="prose"),
    Column(title="Best age to change", width=16, kind="whole"),
    Column(title="Saves per 1,000", width=10, kind="money"),
    Column(title="Oldest piece now fitted", width=42, kind="prose"),
    Column(title=f"Chance it fails in {SOON_TEXT}", width=13, kind="share"),
    Column(title="Rests on; what stands out", width=30, kind="prose"),
)
FIT_COLUMNS = (
    Column(title="Part", width=13),
    Column(title="Name", width=26, kind="prose"),
    Column(title="Clock", width=7),
    Column(title="Watched, on its clock", width=10, kind="whole"),
    Column(title="Failures per 1,000", width=10, kind="rate"),
    Column(title="low", width=8, kind="rate"),
    Column(title="high", width=8, kind="rate"),
    Column(title="Shape", width=8, kind="number"),
    Column(title="low", width=8, kind="number"),
    Column(title="high", width=8, kind="number"),
    Column(title="Scale", width=9, kind="whole"),
    Column(title="Best fit: shape", width=9, kind="number"),
    Column(title="Best fit: scale", width=9, kind="whole"),
    Column(title="What was expected beforehand", width=64, kind="prose"),
)


def part_lives_sheets(run: Run) -> list[Sheet]:
    """Return every part's life for the mechanic; its fit and its tests for the statistician."""
    watched, names, oldest = pieces_watched(run), part_names(run), find_oldest(run)
    parts = run.ageing.parts.values()
    return [
        Sheet(
            name="Part lives",
            title="How long parts last",
            lead=(
                "Low and high are the ends of the 90 % interval. Mean life weighs the records with "
                "what was expected. The best age to change is where changes planned cost least "
                "against failures, and what that saves per 1,000 hours (or days) of one fitted "
                f"piece, in {run.plan.currency}; 'run to failure' where no age pays.",
                "The oldest piece is the one seen to run the longest, over all boats; its chance "
                f"of failing in the next {SOON_TEXT} holds if it is left as it is.",
            ),
            tables=(
                Table(
                    columns=COLUMNS,
                    rows=plain_rows(
                        _life(
                            part,
                            names.get(part.part, ""),
                            watched.get(part.part, 0),
                            oldest.get(part.part),
                        )
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
                "Failures per 1,000 hours (or days) come from the records alone, as if age did not "
                "matter. Shape above 1: fails more often with age; shape 1: at any age alike. Low "
                "and high are 90 % intervals. 'Best fit' is maximum likelihood on the records "
                "alone, where there are at least 3 failures.",
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
        part_tests_sheet(parts),
    ]


def _life(
    part: PartAgeing, name: str, watched: int, oldest: FittedPiece | None
) -> tuple[Cell, ...]:
    best = part.best_age if oldest is not None else None
    return (
        part.part,
        name,
        part.clock,
        watched,
        part.failures,
        part.mean_life,
        part.mean_life_low,
        part.mean_life_high,
        ageing_text(part),
        None if best is None else "run to failure" if best.age is None else best.age,
        None if best is None or best.age is None else best.saving,
        "" if oldest is None else f"{oldest.where}: {oldest.age_words}",
        None if oldest is None else oldest.chance,
        "; ".join(standing_out(part)) or "records",
    )


def _fit(part: PartAgeing, name: str) -> tuple[Cell, ...]:
    return (
        part.part,
        name,
        part.clock,
        part.exposure,
        part.rate_per_1000,
        None if part.rate_per_1000 is None else part.rate_low,
        part.rate_high,
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
