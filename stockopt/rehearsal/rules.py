"""Rules of thumb: how many of each part people carry who do not count chances."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives

#: The year that "last year's use" looks back on.
LAST_YEAR = pd.Timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of thumb.

    Parameters
    ----------
    name
        In words.
    carry
        By boat and part: pieces to carry, the floors kept.
    """

    name: str
    carry: Mapping[tuple[str, str], int]


def list_rules(fleet: Fleet, lives: Lives) -> tuple[Rule, ...]:
    """Return the rules, for every boat with legs to come and every part fitted or used up there.

    Last year's use is that of the whole fleet, shared out by the pieces fitted and rounded up: one
    boat's own year is mostly chance. A part used up with another, whose use is seldom written down,
    counts as often as the other was changed.

    All keep `carry_at_least`: nobody's rule is to leave the flares ashore.
    """
    fitted = _count_fitted(fleet, lives)
    used = _use_by_piece(fleet, lives)
    floors = dict(zip(fleet.parts["part"], fleet.parts["carry_at_least"], strict=True))

    def rule(name: str, each: Mapping[tuple[str, str], int]) -> Rule:
        kept = {key: max(each[key], int(floors[key[1]])) for key in sorted(fitted)}
        return Rule(name=name, carry=kept)

    last_year = {key: used.get(key[1], 0.0) * pieces for key, pieces in fitted.items()}
    return (
        rule("carry nothing", dict.fromkeys(fitted, 0)),
        rule("one of each", dict.fromkeys(fitted, 1)),
        rule("last year's use", {key: _round_up(use) for key, use in last_year.items()}),
        rule("twice last year's use", {key: _round_up(2 * use) for key, use in last_year.items()}),
    )


def _round_up(pieces: float) -> int:
    return math.ceil(round(pieces, 9))


def _count_fitted(fleet: Fleet, lives: Lives) -> dict[tuple[str, str], int]:
    """Return by boat and part the pieces fitted; of a part used up, those it is used up with."""
    sailing = set(fleet.legs["boat"])
    places = lives.positions[lives.positions["boat"].isin(list(sailing))]
    fitted = dict(Counter(zip(places["boat"], places["part"], strict=True)))
    own = dict(fitted)
    for part, other, quantity in _uses(fleet):
        for boat in sailing:
            if (boat, other) in own and (boat, part) not in own:
                pieces = quantity * own[boat, other]
                fitted[boat, part] = fitted.get((boat, part), 0) + pieces
    return fitted


def _uses(fleet: Fleet) -> list[tuple[str, str, int]]:
    table = fleet.used_with
    return list(
        zip(table["part"], table["with_part"], (int(q) for q in table["quantity"]), strict=True)
    )


def _use_by_piece(fleet: Fleet, lives: Lives) -> dict[str, float]:
    """Return by part the pieces used last year for each piece fitted in the whole fleet."""
    today = pd.Timestamp(fleet.settings.planned_on)
    recent = fleet.replacements[fleet.replacements["on"] > today - LAST_YEAR]
    use = {str(part): float(n) for part, n in recent.groupby("part")["quantity"].sum().items()}
    fitted = {str(part): float(n) for part, n in lives.positions.groupby("part").size().items()}
    with_others: dict[str, float] = {}
    places: dict[str, float] = {}
    for part, other, quantity in _uses(fleet):
        with_others[part] = with_others.get(part, 0.0) + quantity * use.get(other, 0.0)
        places[part] = places.get(part, 0.0) + quantity * fitted.get(other, 0.0)
    for part, pieces in with_others.items():
        use[part] = max(use.get(part, 0.0), pieces)
        fitted.setdefault(part, places[part])
    return {part: pieces / fitted[part] for part, pieces in use.items() if fitted.get(part)}
