"""What is supposed for one plan only: the tables stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import TypeVar

_Key = TypeVar("_Key")
_Value = TypeVar("_Value")


def _nothing() -> Mapping[_Key, _Value]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was asked on the command line, before its names are compared with the tables.

    Parameters
    ----------
    without
        Sources to do without.
    departs
        Boats, each with the day of her first departure.
    rates
        Parts, each with a factor on its failure rate.
    pins
        ``BOAT:PART`` as typed, each with the pieces to carry.
    """

    without: tuple[str, ...] = ()
    departs: tuple[tuple[str, date], ...] = ()
    rates: tuple[tuple[str, float], ...] = ()
    pins: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What is supposed, every name as the tables define it; nothing supposed is the plain plan.

    Parameters
    ----------
    without
        Sources from which nothing can be had.
    departs
        By boat: the day of her first departure to come; her later legs follow with it.
    rates
        By part: by how much its hazard is multiplied, at every age, from now on.
    pins
        By (boat, part): carry exactly so many.
    """

    without: tuple[str, ...] = ()
    departs: Mapping[str, date] = field(default_factory=_nothing)
    rates: Mapping[str, float] = field(default_factory=_nothing)
    pins: Mapping[tuple[str, str], int] = field(default_factory=_nothing)

    def list_options(self) -> tuple[tuple[str, str, str], ...]:
        """Return each supposition as its option, its value, and in words; none for a plain plan.

        Examples
        --------
        >>> WhatIf(pins={("Alba", "SEAL-7"): 2}).list_options()
        (('--pin', 'Alba:SEAL-7=2', 'Alba carries exactly 2 x SEAL-7'),)
        """
        return (
            *(("--without", source, f"nothing from {source}") for source in sorted(self.without)),
            *(
                ("--departs", f"{boat}={day}", f"{boat} departs on {day}, her later legs follow")
                for boat, day in sorted(self.departs.items())
            ),
            *(
                (
                    "--rate",
                    f"{part}=x{factor:g}",
                    f"{part} fails {factor:g} times as often at every age",
                )
                for part, factor in sorted(self.rates.items())
            ),
            *(
                ("--pin", f"{boat}:{part}={count}", f"{boat} carries exactly {count} x {part}")
                for (boat, part), count in sorted(self.pins.items())
            ),
        )
