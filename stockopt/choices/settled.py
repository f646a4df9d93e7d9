"""What a plan before told of boats and stores, from which the next one is weighed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeVar

from stockopt.choices.choices import BoatPart

_Key = TypeVar("_Key")
_Value = TypeVar("_Value")


def _nothing() -> Mapping[_Key, _Value]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """How one boat looks after one part: spares carried, pieces replaced now, restocking."""

    carry: int
    replace_now: int
    restock: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What boats can count on in stores, and stores on boats; empty before the first plan.

    Nothing taken means that no part is replaced now that uses up others.

    Parameters
    ----------
    fill_rates
        By (store, part): share of the pieces asked for that the store has on the shelf.
    taken
        By (boat, part).
    prices
        By (store, part): what one piece drawn costs the store, all told.
    weighed
        Parts on boats weighed already, by boat, part, what is replaced of parts it is used up
        with, price and fill rate of the store, and what parts used up with it cost more: kept
        from round to round of one plan, and the one thing here that grows.
    orders
        By (store, part): who the store reorders from, and orders expected over the season.
    """

    fill_rates: Mapping[tuple[str, str], float] = field(default_factory=_nothing)
    taken: Mapping[tuple[str, str], Taken] = field(default_factory=_nothing)
    prices: Mapping[tuple[str, str], float] = field(default_factory=_nothing)
    weighed: dict[tuple[object, ...], BoatPart] = field(
        default_factory=dict, compare=False, repr=False
    )
    orders: Mapping[tuple[str, str], tuple[str, float]] = field(default_factory=_nothing)
