"""The few words that stand for units and kinds, and their allowed values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Clock = Literal["hours", "days"]
Consequence = Literal["stops", "limits", "nuisance"]
MassUnit = Literal["kg", "lb"]
VolumeUnit = Literal["litres", "gallons"]
Paper = Literal["a4", "letter"]

#: From the gravest to the lightest.
CONSEQUENCES: tuple[Consequence, ...] = ("stops", "limits", "nuisance")

#: Reasons that end a life as a failure; every other reason, and still running, suspends it.
FAILURE_REASONS: frozenset[str] = frozenset({"failed", "worn", "unknown"})

HOURS_PER_DAY = 24.0

#: One avoirdupois pound in kg and one US liquid gallon in litres, exact by definition (the
#: international pound of 1959; 231 cubic inches of 2.54 cm).
KG_PER_POUND = 0.45359237
LITRES_PER_GALLON = 3.785411784


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """The units in which masses and room are shown; inside they are always kg and litres."""

    mass: MassUnit = "kg"
    volume: VolumeUnit = "litres"

    @property
    def room(self) -> str:
        """Return the short unit of room.

        Examples
        --------
        >>> Measures().room, Measures(volume="gallons").room
        ('L', 'gal')
        """
        return "L" if self.volume == "litres" else "gal"

    @property
    def masses(self) -> str:
        """Return the unit of mass as a word.

        Examples
        --------
        >>> Measures().masses, Measures(mass="lb").masses
        ('kilos', 'pounds')
        """
        return "kilos" if self.mass == "kg" else "pounds"

    @property
    def kg_each(self) -> float:
        """Return one unit of mass in kilograms."""
        return 1.0 if self.mass == "kg" else KG_PER_POUND

    @property
    def litres_each(self) -> float:
        """Return one unit of room in litres."""
        return 1.0 if self.volume == "litres" else LITRES_PER_GALLON

    def of_mass(self, kg: float) -> float:
        """Return kilograms in the unit shown.

        Examples
        --------
        >>> round(Measures(mass="lb").of_mass(1.0), 4)
        2.2046
        """
        return kg / self.kg_each

    def of_room(self, litres: float) -> float:
        """Return litres in the unit shown.

        Examples
        --------
        >>> round(Measures(volume="gallons").of_room(10.0), 3)
        2.642
        """
        return litres / self.litres_each
