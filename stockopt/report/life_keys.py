"""How long parts last as keys and plain values, for the JSON."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

from stockopt.ageing.ageing import Ageing, BestAge, PartAgeing, PartTests
from stockopt.report.fitted_now import FittedPiece, find_oldest
from stockopt.report.one_part import OnePart
from stockopt.report.part_lives import part_names, pieces_watched
from stockopt.report.plain_numbers import Keys, money, number
from stockopt.report.run import PartLives, Run
from stockopt.report.survival import Floats
from stockopt.report.words import ageing_text, day_text


def list_lives(run: Run | PartLives) -> list[Keys]:
    """Return each part's life."""
    names, watched, oldest = part_names(run), pieces_watched(run), find_oldest(run)
    return [
        {
            **_life(part, names.get(part.part, ""), watched.get(part.part, 0)),
            "oldest": _oldest(oldest.get(part.part)),
        }
        for part in run.ageing.parts.values()
    ]


def fleet_keys(ageing: Ageing) -> Keys:
    """Return what holds for the lives of the whole fleet."""
    spread = ageing.boat_spread
    return {
        "families": [
            {
                "family": pool.family,
                "clock": pool.clock,
                "parts": int(pool.parts),
                "with_failures": int(pool.with_failures),
                "failures": int(pool.failures),
                "by_expected_life": bool(pool.by_expected_life),
                "life": number(pool.life),
                "life_spread": number(pool.life_spread),
                "shape": number(pool.shape),
                "shape_spread": number(pool.shape_spread),
            }
            for pool in ageing.families
        ],
        "life_factor": number(ageing.life_factor),
        "boat_factors": {boat: number(factor) for boat, factor in ageing.boat_factors.items()},
        "boat_spread": None
        if spread is None
        else {
            "spread": number(spread.spread),
            "statistic": number(spread.statistic),
            "p_value": number(spread.p_value),
            "used": bool(spread.used),
            "words": spread.words,
        },
    }


def part_keys(one: OnePart) -> Keys:
    """Return each life of one part, and its survival curves."""
    fitted, steps = one.curves.fitted, one.curves.steps
    records: list[Mapping[Hashable, Any]] = [*one.lives.to_dict("records")]
    return {
        "pieces": [
            {
                "boat": life["boat"],
                "machine": life["machine"],
                "slot": int(life["slot"]),
                "began_on": day_text(life["began_on"]) or None,
                "ended_on": day_text(life["ended_on"]),
                "entered": number(life["entered"]),
                "left": number(life["left"]),
                "failed": bool(life["failed"]),
                "age_known": bool(life["age_known"]),
                "reason": life["reason"],
            }
            for life in records
        ],
        "survival": {"age": _numbers(steps.age), "survival": _numbers(steps.survival)},
        "fitted": {
            "age": _numbers(fitted.age),
            "survival": _numbers(fitted.survival),
            "low": _numbers(fitted.low),
            "high": _numbers(fitted.high),
        },
    }


def _life(part: PartAgeing, name: str, watched: int) -> Keys:
    return {
        "part": part.part,
        "clock": part.clock,
        "failures": int(part.failures),
        "exposure": number(part.exposure),
        "rate_per_1000": number(part.rate_per_1000),
        "rate_low": number(part.rate_low),
        "rate_high": number(part.rate_high),
        "shape": number(part.shape),
        "shape_low": number(part.shape_low),
        "shape_high": number(part.shape_high),
        "scale": number(part.scale),
        "mean_life": number(part.mean_life),
        "mean_life_low": number(part.mean_life_low),
        "mean_life_high": number(part.mean_life_high),
        "prior_only": bool(part.prior_only),
        "name": name,
        "pieces_watched": watched,
        "ml_shape": number(part.ml_shape),
        "ml_scale": number(part.ml_scale),
        "prior": part.prior,
        "ages": ageing_text(part),
        "tests": _tests(part.tests),
        "best_age": _best_age(part.best_age),
    }


def _tests(tests: PartTests | None) -> Keys | None:
    if tests is None:
        return None
    return {
        "trend_z": number(tests.trend_z),
        "trend_p": number(tests.trend_p),
        "trend": tests.trend,
        "boats_statistic": number(tests.boats_statistic),
        "boats_p": number(tests.boats_p),
        "boats": tests.boats,
        "wear_ratio": number(tests.wear_ratio),
        "wear": tests.wear,
        "newest_failures": tests.newest_failures,
        "newest_expected": number(tests.newest_expected),
        "newest_p": number(tests.newest_p),
        "newest": tests.newest,
    }


def _best_age(best: BestAge | None) -> Keys | None:
    if best is None:
        return None
    return {
        "age": number(best.age),
        "planned_cost": money(best.planned_cost),
        "failing_cost": money(best.failing_cost),
        "cost": money(best.cost),
        "cost_to_failure": money(best.cost_to_failure),
        "saving": money(best.saving),
        "words": best.words,
    }


def _oldest(piece: FittedPiece | None) -> Keys | None:
    if piece is None:
        return None
    return {
        "boat": piece.boat,
        "machine": piece.machine,
        "slot": piece.slot,
        "age": number(piece.age),
        "age_known": bool(piece.age_known),
        "span": number(piece.span),
        "chance": number(piece.chance),
    }


def _numbers(values: Floats) -> list[float | None]:
    return [number(value) for value in values.tolist()]
