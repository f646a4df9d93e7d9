"""The pieces now fitted: the oldest of each part, and how likely it is to fail before long."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from stockopt.ageing.ageing import Ageing
from stockopt.ageing.outlook import chance_of_failing
from stockopt.demand.stretches import Voyage
from stockopt.report.run import PartLives, Run
from stockopt.report.words import brief, unit_text

Position = Mapping[Hashable, Any]

#: How far ahead the chance of failing is told, by clock.
SOON = {"hours": 100.0, "days": 90.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedPiece:
    """One piece now fitted.

    Parameters
    ----------
    boat, machine, slot
        Where; `slot` is None where the machine has but one of the part.
    clock, age, age_known
        How old it is on its clock; at least so old where its age is not known.
    span, chance
        Chance that it fails within the next `span` on its clock, left as it is.
    """

    boat: str
    machine: str
    slot: int | None
    clock: str
    age: float
    age_known: bool
    span: float
    chance: float

    @property
    def where(self) -> str:
        """Its place in words."""
        return f"{self.boat}, {self.machine}{_slot_text(self.slot)}"

    @property
    def age_words(self) -> str:
        """Its age in words."""
        return age_words(self.age, self.clock, known=self.age_known)


def age_words(age: float, clock: str, *, known: bool) -> str:
    """Return an age in words.

    Examples
    --------
    >>> age_words(512.0, "hours", known=True), age_words(498.2, "days", known=False)
    ('512 h', 'at least 498 days')
    """
    return f"{'' if known else 'at least '}{brief(age)} {unit_text(clock)}"


def find_oldest(studied: Run | PartLives) -> dict[str, FittedPiece]:
    """Return the oldest piece now fitted of each part that is fitted anywhere.

    That is the one seen to run the longest, over all boats; of pieces seen equally long one of
    unknown age, which is older than it was seen.
    """
    found = {}
    for part, places in studied.lives.positions.groupby("part"):
        records: list[Position] = [*places.to_dict("records")]
        place = min(records, key=_longest_seen_first)
        mates = (places["boat"] == place["boat"]) & (places["machine"] == place["machine"])
        found[str(part)] = _describe(place, int(mates.sum()), studied.ageing)
    return found


def chance_on_plan(place: Position, voyage: Voyage, ageing: Ageing) -> float:
    """Return the chance that a piece fails on the legs to come, left as it is until departure."""
    clock = place["clock"]
    waits = voyage.days_before if clock == "days" else 0.0
    ahead = math.fsum(voyage.running(place["machine"], clock))
    return _chance(place, ageing, waits, ahead)


def oldest_first(places: pd.DataFrame) -> Sequence[Position]:
    """Return positions as the forecast replaces them: unknown ages first, then the oldest.

    Ties go by machine and slot.
    """
    records: list[Position] = [*places.to_dict("records")]
    return sorted(records, key=_oldest_first)


def _describe(place: Position, mates: int, ageing: Ageing) -> FittedPiece:
    span = SOON[place["clock"]]
    return FittedPiece(
        boat=place["boat"],
        machine=place["machine"],
        slot=int(place["slot"]) if mates > 1 else None,
        clock=place["clock"],
        age=float(place["age_at_least"]),
        age_known=not pd.isna(place["age"]),
        span=span,
        chance=_chance(place, ageing, 0.0, span),
    )


def _chance(place: Position, ageing: Ageing, waits: float, span: float) -> float:
    return chance_of_failing(
        ageing.parts[place["part"]].nodes,
        float(place["age_at_least"]) + waits,
        span,
        age_known=not pd.isna(place["age"]),
        factor=ageing.boat_factors.get(place["boat"], 1.0),
    )


def _longest_seen_first(place: Position) -> tuple[float, bool, str, str, int]:
    known = not pd.isna(place["age"])
    return -place["age_at_least"], known, place["boat"], place["machine"], place["slot"]


def _oldest_first(place: Position) -> tuple[bool, float, str, int]:
    known = not pd.isna(place["age"])
    return known, -place["age"] if known else 0.0, place["machine"], place["slot"]


def _slot_text(slot: int | None) -> str:
    return "" if slot is None else f" no. {slot}"
