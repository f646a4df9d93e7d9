"""Pieces found worn at an inspection: what three treatments make of the age at which they failed.

New pieces on 400 machines, looked at every w mean lives from the day each was fitted, run until
found worn, at most 2 mean lives; w is 0.05 to 0.5. The fit by maximum likelihood takes each to have
failed when found; half way since it was last seen sound, as the ageing room does; or some time in
between, by the exact term log[S(l) - S(x)]. Shapes 1, 2 and 3, 20 data sets each.
"""

import numpy as np
import pandas as pd
from scipy.optimize import minimize
from scipy.special import gamma

from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.maximum import fit_maximum

SHAPES, INTERVALS = (1.0, 2.0, 3.0), (0.05, 0.1, 0.2, 0.5)
TREATMENTS = ("when found", "half way", "in between")
MEAN, PIECES, WATCHED = 1000.0, 400, 2.0


def draw_inspected(rng, shape, interval):
    """Return lives that end at the inspection that finds the piece worn, or at 2 mean lives."""
    failed_at = rng.weibull(shape, PIECES) / gamma(1.0 + 1.0 / shape)
    found = np.ceil(failed_at / interval) * interval
    failed = found <= WATCHED + 1e-9
    left = np.where(failed, found, np.floor(WATCHED / interval + 1e-9) * interval)
    sound = np.where(failed, left - interval, left)
    return pd.DataFrame(
        {
            "part": "seal",
            "entered": 0.0,
            "left": MEAN * left,
            "sound": MEAN * sound,
            "failed": failed,
        }
    )


def fit_treated(lives, treatment):
    """Return mean life (in true ones) and shape."""
    if treatment == "in between":
        shape, scale = _fit_in_between(lives)
    else:
        told = lives if treatment == "half way" else lives.drop(columns="sound")
        records = collect_records(told, pd.Index(["seal"]))
        [shape], [scale] = fit_maximum(records)
    return scale * gamma(1.0 + 1.0 / shape) / MEAN, shape


def _fit_in_between(lives):
    """Fit with the chance of failing between the two ages, by a plain search."""
    failed = lives["failed"].to_numpy()
    low, high = lives["sound"].to_numpy() / MEAN, lives["left"].to_numpy() / MEAN

    def lack(guess):
        shape, scale = np.exp(guess)
        reached = (high / scale) ** shape
        fell = np.exp(-((low[failed] / scale) ** shape)) - np.exp(-reached[failed])
        return reached[~failed].sum() - np.log(np.maximum(fell, 1e-300)).sum()

    found = minimize(lack, [0.3, 0.0], method="Nelder-Mead", options={"xatol": 1e-6})
    shape, scale = np.exp(found.x)
    return shape, scale * MEAN


def measure(shape, interval, sets=20):
    """Return mean life over the true one and shape over the true one, by treatment."""
    rng = np.random.default_rng([3, int(10 * shape), int(100 * interval)])
    drawn = [draw_inspected(rng, shape, interval) for _ in range(sets)]
    ratios = {}
    for treatment in TREATMENTS:
        found = np.array([fit_treated(lives, treatment) for lives in drawn])
        ratios[treatment] = found.mean(axis=0) / (1.0, shape)
    return ratios


def table():
    lines = [
        "| shape | inspected every | when found: life, shape | half way | in between |",
        "|---|---|---|---|---|",
    ]
    for shape in SHAPES:
        for interval in INTERVALS:
            cells = [f"{a:.3f}, {b:.3f}" for a, b in measure(shape, interval).values()]
            lines.append(f"| {shape:g} | {interval:.0%} | " + " | ".join(cells) + " |")
    return "\n".join(lines)
