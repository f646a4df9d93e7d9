"""Every position's history: the changes of each part on each machine, taken up in order."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from stockopt.lives.cut import Change, History, LeftOut
from stockopt.lives.positions import Fitted
from stockopt.lives.records import Replacement
from stockopt.lives.slots import AGE_POWER
from stockopt.lives.watches import Watched
from stockopt.units import FAILURE_REASONS

NOT_FITTED = "not fitted to that machine"
HOURS_UNKNOWN = "hours of the machine not known"

LeftOutRow = tuple[Replacement, LeftOut]


def follow_histories(
    fitted: Mapping[tuple[int, str], Fitted],
    watched: Mapping[tuple[int, str], Watched],
    replacements: Sequence[Sequence[Replacement]],
) -> tuple[dict[tuple[int, str], History], list[LeftOutRow]]:
    """Cut every position's clock by its replacements.

    Parameters
    ----------
    fitted
        What is fitted, by machine index and part.
    watched
        How long each machine is watched, by machine index and clock.
    replacements
        The replacements of each machine.

    Returns
    -------
    histories
        By machine index and part.
    left_out
        Pieces that end no life, each with its row of the replacements table.
    """
    left_out: list[LeftOutRow] = []
    changes: dict[tuple[int, str], list[Change]] = defaultdict(list)
    for index, rows in enumerate(replacements):
        run = watched[index, "hours"]
        hours = run.amounts([replacement.day for replacement in rows])
        sound_hours = run.amounts([replacement.sound_day for replacement in rows])
        for replacement, hour, sound_hour in zip(rows, hours, sound_hours, strict=True):
            key = (index, replacement.part)
            if key not in fitted:
                left_out.append((replacement, replacement.left_out(NOT_FITTED)))
            elif _unwatchable(watched[index, fitted[key].clock], replacement.day):
                left_out.append((replacement, replacement.left_out(HOURS_UNKNOWN)))
            elif fitted[key].clock == "hours":
                changes[key].append(_change(replacement, hour, sound_hour))
            else:
                day, sound_day = float(replacement.day), replacement.sound_day
                changes[key].append(_change(replacement, day, sound_day))
    by_row = {replacement.row: replacement for rows in replacements for replacement in rows}
    histories = {}
    for key, part in fitted.items():
        seen = watched[key[0], part.clock]
        pieces = [seen.first_piece(part.expected_life) for _ in range(part.quantity)]
        history = History(pieces, seen.watch, AGE_POWER[part.wear])
        history.take_up(changes.get(key, []))
        histories[key] = history
        left_out += [(by_row[piece.row], piece) for piece in history.left_out]
    return histories, left_out


def _unwatchable(watched: Watched, day: int) -> bool:
    """Return whether the clock was not known on `day`, nor will be before the watch begins."""
    if watched.clock is None:
        return True
    return watched.watch is not None and day > watched.watch.last_day


def _change(replacement: Replacement, amount: float, sound: float) -> Change:
    return Change(
        day=replacement.day,
        slot_assumed=replacement.slot == 0,
        slot=replacement.slot,
        planned=replacement.reason not in FAILURE_REASONS,
        reason=replacement.reason,
        quantity=replacement.quantity,
        sound=-math.inf if math.isnan(sound) else sound,
        row=replacement.row,
        amount=amount,
    )
