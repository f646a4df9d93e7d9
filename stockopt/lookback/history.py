"""What was really changed in the season looked back on, piece by piece."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.lives.machines import day_number, day_numbers
from stockopt.lookback.season import Past
from stockopt.units import FAILURE_REASONS

#: A change planned ahead, which a part with `replace_every` needs a piece for.
SCHEDULED = "scheduled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One piece that was needed.

    Parameters
    ----------
    boat, machine, part, slot
        Where; slot 0 where that was not told and could not be found out.
    on, day
        When, and that in days from the day looked back to.
    failed
        False for a change on schedule.
    ran
        What its clock gained from the day looked back to.
    first
        Whether the piece fitted on that day was the one changed.
    """

    boat: str
    machine: str
    part: str
    slot: int
    on: date
    day: float
    failed: bool
    ran: float
    first: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Pieces needed, by day, and how many were changed that needed none.

    Parameters
    ----------
    changes
        Failures, and changes on schedule of parts with `replace_every`.
    planned
        Pieces changed on schedule of other parts: each was bought for the change, no spare.
    proved
        Pieces swapped to prove a spare, or borrowed: the old piece went back to the spares, or on
        to another boat.
    not_fitted
        Pieces changed that the tables do not fit to a machine that was there.
    """

    changes: tuple[Change, ...]
    planned: int
    proved: int
    not_fitted: int


def read_history(past: Past, then: Lives, now: Fleet, seen: Lives) -> History:
    """Return what was changed in the season.

    Parameters
    ----------
    past
        The season.
    then
        The positions as they stood when it began.
    now
        The tables as they are.
    seen
        Their lives: which slot a change was in.
    """
    clock_of = _list_clocks(then)
    every = set(now.parts.loc[now.parts["replace_every"].notna(), "part"])
    slots = _find_slots(seen.lives)
    touched: set[tuple[str, str, str, int]] = set()
    changes: list[Change] = []
    count: Counter[str] = Counter()
    for row, day, boat, machine, part, quantity, reason in _list_rows(past, now):
        key = (boat, machine, part)
        meter = past.meters.get((boat, machine))
        if key not in clock_of or meter is None or day > meter.last:
            count["not fitted"] += quantity
            continue
        failed = reason in FAILURE_REASONS
        needs = failed or (reason == SCHEDULED and part in every)
        ran = float(day - past.begins)
        if clock_of[key] == "hours":
            ran = meter.run(past.begins, day)
        for slot in [*slots.get(row, []), *[0] * quantity][:quantity]:
            place = (*key, slot)
            first = slot > 0 and place not in touched
            touched.add(place)
            if not needs:
                count["planned" if reason == SCHEDULED else "proved"] += 1
                continue
            changes.append(
                Change(
                    boat=boat,
                    machine=machine,
                    part=part,
                    slot=slot,
                    on=date.fromordinal(date(1970, 1, 1).toordinal() + day),
                    day=float(day - past.begins),
                    failed=failed,
                    ran=ran,
                    first=first,
                )
            )
    return History(
        changes=tuple(changes),
        planned=count["planned"],
        proved=count["proved"],
        not_fitted=count["not fitted"],
    )


def _list_clocks(then: Lives) -> dict[tuple[str, str, str], str]:
    """Return, by boat, machine and part, what each part then fitted ages by."""
    fitted = then.positions
    keys = zip(fitted["boat"], fitted["machine"], fitted["part"], strict=True)
    return dict(zip(keys, fitted["clock"], strict=True))


def _list_rows(past: Past, now: Fleet) -> Iterator[tuple[int, int, str, str, str, int, str]]:
    """Yield row, day, boat, machine, part, quantity and reason of what was changed, by day."""
    table = now.replacements
    rows = zip(
        (int(row) for row in table.index),
        day_numbers(table["on"]),
        table["boat"],
        table["machine"],
        table["part"],
        (int(quantity) for quantity in table["quantity"]),
        table["reason"],
        strict=True,
    )
    found = [
        (row, day, *rest)
        for row, day, *rest in rows
        if day is not None and past.begins < day <= past.ends.get(rest[0], -1)
    ]
    yield from sorted(found, key=lambda one: (one[1:], one[0]))


def _find_slots(lives: pd.DataFrame) -> Mapping[int, list[int]]:
    """Return the slots that each row of the replacements was about."""
    slots: dict[int, list[int]] = defaultdict(list)
    for row, slot in zip(lives["row"], lives["slot"], strict=True):
        if row > 0:
            slots[int(row)].append(int(slot))
    return slots


def add_used_up(
    changes: Iterable[Change], part: str, uses: Iterable[tuple[str, int]], boats: Iterable[str]
) -> list[Change]:
    """Return the pieces of a part needed, those used up with other parts among them.

    What is used up with another part is seldom written down: each change of the other is taken to
    have used it. Where one of both was written down on the same day, it is the same piece.

    Parameters
    ----------
    changes
        Of all parts.
    part
        The part.
    uses
        Parts it is used with, and pieces for each change.
    boats
        Of the season.
    """
    own = [change for change in changes if change.part == part]
    implied: list[Change] = []
    for other, quantity in uses:
        for change in changes:
            if change.part == other:
                implied += [change] * quantity
    told = Counter((change.boat, change.day) for change in implied)
    kept = []
    for change in own:
        if told[change.boat, change.day] > 0:
            told[change.boat, change.day] -= 1
        else:
            kept.append(change)
    known = set(boats)
    return [change for change in [*kept, *implied] if change.boat in known]


def count_failures(lives: Lives, after: date) -> Counter[str]:
    """Return the failures watched of each part after a day."""
    table = lives.lives
    late = pd.Series(day_numbers(table["ended_on"]), index=table.index) > day_number(after)
    failed = table[table["failed"] & late]
    return Counter(str(part) for part in failed["part"])
