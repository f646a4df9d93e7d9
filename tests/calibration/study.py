"""How honest the lives and the counts are: fleets of known lives, scored against the truth."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from calibration.world import TENFOLD, World, draw_world

from stockopt.ageing.fit import fit_ageing
from stockopt.demand.forecast import forecast_demand
from stockopt.lives.build import build_lives

BANDS = ("0", "1-2", "3-9", "10+")


@dataclass(frozen=True, kw_only=True)
class Study:
    """What came of it.

    `parts` has a row for each part of each fleet: fleet, slots_told, pieces (to a machine),
    failures, band, error (of the log mean life), covered. `counts` has one for each boat and part:
    fleet, band, needed, place (the randomised probability integral transform).
    """

    parts: pd.DataFrame
    counts: pd.DataFrame


def run_study(
    seeds: Iterable[int],
    *,
    told_within: float = TENFOLD,
    past_told: bool = True,
    forecast: bool = True,
) -> Study:
    """Go from records to lives, ageing and, if wanted, needs of the next season, fleet by fleet."""
    parts, counts = [], []
    for seed in seeds:
        own_parts, own_counts = _run_fleet(seed, draw_world(seed, told_within, past_told), forecast)
        parts += own_parts
        counts += own_counts
    return Study(parts=pd.DataFrame(parts), counts=pd.DataFrame(counts))


def _run_fleet(seed: int, world: World, forecast: bool) -> tuple[list[dict], list[dict]]:
    lives = build_lives(world.fleet)
    ageing = fit_ageing(lives, world.fleet)
    parts = []
    for part, true in world.truth.items():
        found = ageing.parts[part]
        parts.append(
            {
                "fleet": seed,
                "part": part,
                "slots_told": world.slots_told,
                "pieces": true.quantity,
                "failures": found.failures,
                "band": _band(found.failures),
                "error": np.log(found.mean_life / true.mean),
                "covered": found.mean_life_low <= true.mean <= found.mean_life_high,
                "shape_error": np.log(found.shape / true.shape),
                "shape_covered": found.shape_low <= true.shape <= found.shape_high,
            }
        )
    if not forecast:
        return parts, []
    rng = np.random.default_rng([1, seed])
    demand = forecast_demand(ageing, lives, world.fleet)
    counts = []
    for (boat, part), needed in world.needs.items():
        chances = demand.parts[boat, part].whole[0]
        below, here = chances[:needed].sum(), chances[needed : needed + 1].sum()
        counts.append(
            {
                "fleet": seed,
                "band": _band(ageing.parts[part].failures),
                "slots_told": world.slots_told,
                "needed": needed,
                "expected": float(chances @ np.arange(len(chances))),
                "place": min(below + rng.random() * here, np.nextafter(1.0, 0.0)),
            }
        )
    return parts, counts


def _band(failures: int) -> str:
    return BANDS[int(np.searchsorted([1, 3, 10], failures, side="right"))]


def coverage_by_band(parts: pd.DataFrame) -> pd.DataFrame:
    """Return parts, share covered and bias of the log mean life: by band, then over all."""
    grouped = parts.groupby("band").agg(
        parts=("covered", "size"), covered=("covered", "mean"), bias=("error", "mean")
    )
    overall = [len(parts), parts["covered"].mean(), parts["error"].mean()]
    grouped = grouped.reindex(list(BANDS))
    grouped.loc["all"] = overall
    return grouped.astype({"parts": int})


def bias_from_three(parts: pd.DataFrame) -> float:
    """Return the mean error of the log mean life over parts with 3 failures or more."""
    return float(parts.loc[parts["failures"] >= 3, "error"].mean())


def tenths(counts: pd.DataFrame) -> np.ndarray:
    """Return the share of the counts in each tenth of what was forecast for them."""
    return np.bincount((counts["place"] * 10).astype(int), minlength=10) / len(counts)


def table_of(study: Study) -> str:
    """Return the outcome as Markdown tables, for the README."""
    bands = coverage_by_band(study.parts)
    fleets = study.parts["fleet"].nunique()
    lines = [
        f"{fleets} fleets, {len(study.parts):,} parts, {len(study.counts):,} counts of a season",
        "",
        "| failures seen | parts | 90 % interval of mean life covers | mean error of its log |",
        "|---|---|---|---|",
    ]
    lines += [
        f"| {band} | {row.parts:,} | {row.covered:.1%} | {row.bias:+.3f} |"
        for band, row in zip(bands.index, bands.itertuples(), strict=True)
    ]
    lines += [f"| 3 or more | | | {bias_from_three(study.parts):+.3f} |", ""]
    if len(study.counts):
        lines += [
            "| tenth of the forecast | " + " | ".join(str(n) for n in range(1, 11)) + " |",
            "|---" * 11 + "|",
            "| counts in it | " + " | ".join(f"{x:.1%}" for x in tenths(study.counts)) + " |",
            "",
            f"Needed {study.counts['needed'].sum():,}, expected "
            f"{study.counts['expected'].sum():,.0f}.",
        ]
    return "\n".join(lines)
