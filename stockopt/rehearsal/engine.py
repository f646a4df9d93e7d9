"""Spares of one part used one after another, on all boats and in all seasons side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Ints
from stockopt.rehearsal.dated import Dated
from stockopt.rehearsal.futures import Events
from stockopt.rehearsal.held import Aboard, Held, MadeUp
from stockopt.rehearsal.money import Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """What became of the spares.

    Parameters
    ----------
    need, short, left
        (B, R): pieces needed, and short; spares in date at the end, late ones that never came
        aboard among them.
    shortages
        The events that found no spare.
    made_up
        The spares made up.
    """

    need: Ints
    short: Ints
    left: Ints
    shortages: Events
    made_up: MadeUp


def use_spares(events: Events, aboard: Aboard, money: Money) -> Used:
    """Go through the needs of every boat and season in the order they come.

    Parameters
    ----------
    events
        By boat, season and day.
    aboard
        What is there.
    money
        Where stretches end.
    """
    shape = aboard.carry.shape
    seasons = shape[1]
    key = events.boat * seasons + events.season
    count = np.bincount(key, minlength=shape[0] * seasons)
    first = np.cumsum(count) - count
    held = Held(aboard) if aboard.in_date is None else Dated(aboard, aboard.in_date, money)
    is_short = np.zeros(len(key), dtype=bool)
    # The n-th needs of all boats and seasons are met at once; few have many.
    by_count = np.argsort(-count, kind="stable")
    still = int(np.count_nonzero(count))
    for turn in range(int(count.max(initial=0))):
        while count[by_count[still - 1]] <= turn:
            still -= 1
        mine = by_count[:still]
        event = first[mine] + turn
        held.go_on(mine, money.stretch[events.leg[event]], events.leg[event])
        is_short[event] = ~held.take(mine, events.day[event])
    held.finish(np.repeat(money.last_stretch, seasons))
    return Used(
        need=count.reshape(shape),
        short=np.bincount(key[is_short], minlength=len(count)).reshape(shape),
        left=held.count_left().reshape(shape),
        shortages=events.picked(is_short),
        made_up=held.list_made_up(seasons),
    )
