"""What is asked for one plan only, brought together with the tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import TypeVar

import pandas as pd

from stockopt.errors import CommandError
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.names import Names, UnknownNameError, name_each
from stockopt.fleet.what_if import Wanted, WhatIf

_Value = TypeVar("_Value")


def suppose(wanted: Wanted, fleet: Fleet) -> tuple[WhatIf, Fleet]:
    """Compare the names asked with the tables, and move the legs of boats that depart otherwise.

    Parameters
    ----------
    wanted
        As asked. A name may be written in any capitals, a part by any of its other numbers.
    fleet
        The tables.

    Returns
    -------
    what_if
        With the names as the tables define them.
    fleet
        With the first leg to come of each boat of `departs` on its day, and all her other legs
        moved by as many days.

    Raises
    ------
    CommandError
        With everything that is wrong: names that are unknown, asked twice with different values, a
        day before that of the plan, a leg after the boat left the fleet, the rate of a part that
        is fitted nowhere, fewer pieces than carry_at_least.
    """
    wrong: list[str] = []
    boats, sources = list(fleet.boats["boat"]), sorted(set(fleet.sources["source"]))
    parts = _list_parts(fleet)
    without = _match(
        "--without", ((name, True) for name in wanted.without), name_each("source", sources), wrong
    )
    departs = _match("--departs", wanted.departs, name_each("boat", boats), wrong)
    rates = _match("--rate", wanted.rates, parts, wrong)
    pins = _match_pins(wanted.pins, name_each("boat", boats), parts, wrong)
    wrong += _list_idle_rates(rates, fleet)
    wrong += _list_low_pins(pins, fleet)
    moved = fleet
    for boat, day in departs.items():
        moved = _move_legs(moved, boat, day, wrong)
    if wrong:
        raise CommandError(wrong)
    return WhatIf(without=tuple(without), departs=departs, rates=rates, pins=pins), moved


def _list_parts(fleet: Fleet) -> Names:
    """Return the part numbers, other spellings leading to current numbers."""
    own = fleet.parts["part"]
    others = zip(fleet.aliases["other"], fleet.aliases["part"], strict=True)
    return Names("part", {**dict(others), **dict(zip(own, own, strict=True))})


def _match(
    option: str, asked: Iterable[tuple[str, _Value]], names: Names, wrong: list[str]
) -> dict[str, _Value]:
    """Return what was asked by the names that are used; what is wrong is added to `wrong`."""
    matched: dict[str, _Value] = {}
    for name, value in asked:
        try:
            found = names.pick(name)
        except UnknownNameError as error:
            wrong.append(f"{option}: {error}")
            continue
        if matched.setdefault(found, value) != value:
            wrong.append(f"{option}: {found} is asked twice: {matched[found]} and {value}")
    return matched


def _match_pins(
    pins: Iterable[tuple[str, int]], boats: Names, parts: Names, wrong: list[str]
) -> dict[tuple[str, str], int]:
    """Return the pins by boat and part; names may hold colons themselves."""
    matched: dict[tuple[str, str], int] = {}
    for text, count in pins:
        cuts = [place for place, letter in enumerate(text) if letter == ":"]
        cut = next((c for c in cuts if boats.find(text[:c]) and parts.find(text[c + 1 :])), cuts[0])
        try:
            key = boats.pick(text[:cut]), parts.pick(text[cut + 1 :])
        except UnknownNameError as error:
            wrong.append(f"--pin: {error}")
            continue
        if matched.setdefault(key, count) != count:
            boat, part = key
            wrong.append(f"--pin: {boat}:{part} is asked twice: {matched[key]} and {count}")
    return matched


def _list_idle_rates(rates: Iterable[str], fleet: Fleet) -> list[str]:
    """List the parts that are fitted nowhere: how often they fail changes nothing."""
    fitted = set(fleet.fitted["part"])
    used = fleet.used_with.groupby("part")["with_part"].apply(sorted).to_dict()
    return [
        f"--rate: {part} is fitted to no machine, so that no rate changes what is needed"
        + (f"; it is used up with {', '.join(used[part])}: ask for that" if part in used else "")
        for part in sorted(set(rates) - fitted)
    ]


def _list_low_pins(pins: Mapping[tuple[str, str], int], fleet: Fleet) -> list[str]:
    """List the pins below a floor: no supposition takes a floor away."""
    floors = dict(zip(fleet.parts["part"], fleet.parts["carry_at_least"], strict=True))
    return [
        f"--pin: {boat}:{part}={count} is below carry_at_least, which is {floors[part]} and is "
        "never traded away"
        for (boat, part), count in sorted(pins.items())
        if count < floors[part]
    ]


def _move_legs(fleet: Fleet, boat: str, day: date, wrong: list[str]) -> Fleet:
    """Return the fleet with the legs of one boat, and the hours told for them, moved."""
    hers = fleet.legs["boat"].eq(boat)
    planned_on = fleet.settings.planned_on
    if not hers.any():
        wrong.append(f"--departs: {boat} has no legs to come")
        return fleet
    if day < planned_on:
        wrong.append(f"--departs: {boat}={day} is before {planned_on}, the day of the plan")
        return fleet
    by = pd.Timestamp(day) - fleet.legs.loc[hers, "departs_on"].min()
    legs, leg_hours = _move(fleet.legs, hers, by), fleet.leg_hours
    leg_hours = _move(leg_hours, leg_hours["boat"].eq(boat), by)
    left = fleet.boats.loc[fleet.boats["boat"].eq(boat), "left_on"].min()
    if (legs.loc[hers, "departs_on"] >= left).any():
        wrong.append(
            f"--departs: {boat}={day} moves a leg to {left:%Y-%m-%d} or later, when she has left "
            "the fleet"
        )
    return replace(fleet, legs=legs, leg_hours=leg_hours)


def _move(frame: pd.DataFrame, which: pd.Series[bool], by: pd.Timedelta) -> pd.DataFrame:
    departs_on = frame["departs_on"]
    moved = departs_on.where(~which, departs_on + by).astype(departs_on.dtype)
    return frame.assign(departs_on=moved)
