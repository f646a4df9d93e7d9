"""Slots not given: what the rule for failures makes of mean life and shape, against the truth.

1,200 positions on machines of 2, 4 or 6, each new at first and watched for 3 mean lives; every
failure is written down without its slot. Shape and mean are then fitted by maximum likelihood to
the lives cut with the slots as they were, with the oldest piece taken each time, and with the
slot drawn as :mod:`stockopt.lives.slots` does, the wear told or not.
"""

import numpy as np
import pandas as pd
from scipy.special import gamma

from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.maximum import fit_maximum
from stockopt.lives.cut import Change, History, Piece, Watch
from stockopt.lives.slots import AGE_POWER

SHAPES, COUNTS = (1.0, 2.0, 3.0), (2, 4, 6)
RULES = ("as they were", "oldest", "drawn, wear told", "drawn, wear not told")
MEAN, POSITIONS, WATCHED = 1000, 1200, 3000


def draw_failures(rng, shape, count):
    """Return the days and slots of the failures on one machine; a day is one unit of age."""
    days = []
    for slot in range(count):
        day = 0.0
        while (day := day + MEAN / gamma(1.0 + 1.0 / shape) * rng.weibull(shape)) < WATCHED:
            days.append((max(round(day), 1), slot))
    return sorted(days)


def cut_lives(failures, count, rule, shape, begun):
    """Return the ages left at and whether failed, under one rule; `begun` is the first day."""
    if rule == "oldest":
        return _cut_oldest(failures, count)
    wear = "random" if shape == 1.0 else "wears"
    power = AGE_POWER[wear if rule == "drawn, wear told" else ""]
    pieces = [Piece(zero=0.0, age_known=True, began_on=begun) for _ in range(count)]
    watch = Watch(begun, begun + WATCHED, 0.0, float(WATCHED), "running")
    history = History(pieces, watch, power)
    told = rule == "as they were"
    history.take_up(
        Change(
            day=begun + day,
            slot_assumed=not told,
            slot=slot + 1 if told else 0,
            planned=False,
            reason="failed",
            quantity=1,
            sound=-np.inf,
            row=row,
            amount=float(day),
        )
        for row, (day, slot) in enumerate(failures)
    )
    return [(life.left, life.failed) for life in history.lives]


def _cut_oldest(failures, count):
    lives, fitted_on = [], [0.0] * count
    for day, _ in failures:
        oldest = int(np.argmin(fitted_on))
        lives.append((day - fitted_on[oldest], True))
        fitted_on[oldest] = day
    return [*lives, *((WATCHED - day, False) for day in fitted_on)]


def measure(shape, count, positions=POSITIONS):
    """Return mean life over the true one, and shape, by rule."""
    rng = np.random.default_rng([4, int(shape), count])
    machines = [
        (draw_failures(rng, shape, count), int(rng.integers(10_000, 20_000)))
        for _ in range(positions // count)
    ]
    found = {}
    for rule in RULES:
        rows = [
            life
            for failures, begun in machines
            for life in cut_lives(failures, count, rule, shape, begun)
        ]
        lives = pd.DataFrame(rows, columns=["left", "failed"])
        lives = lives.assign(part="seal", entered=0.0, sound=lives["left"])
        [own_shape], [scale] = fit_maximum(collect_records(lives, pd.Index(["seal"])))
        found[rule] = scale * gamma(1.0 + 1.0 / own_shape) / MEAN, own_shape
    return found


def table():
    lines = [
        "| true shape | positions | " + " | ".join(f"{rule}: life, shape" for rule in RULES) + " |",
        "|---" * (2 + len(RULES)) + "|",
    ]
    for shape in SHAPES:
        for count in COUNTS:
            cells = [f"{life:.3f}, {own:.2f}" for life, own in measure(shape, count).values()]
            lines.append(f"| {shape:g} | {count} | " + " | ".join(cells) + " |")
    return "\n".join(lines)
