"""The settings of a run: what is asked once for the whole fleet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from stockopt.units import MassUnit, Measures, Paper, VolumeUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What holds for the whole plan.

    Parameters
    ----------
    planned_on
        The day the plan is made for; readings and replacements after it are left out.
    currency
        ISO 4217 code of the plan's money; prices in it need no rate.
    mass_unit, volume_unit
        Units in which the report shows masses and room; the tables say theirs in their headings.
    paper
        What the workbook is printed on.
    rates
        For each other currency its worth in the plan's currency, such as ``{"USD": 0.92}``.
    budget
        Most money to spend now, over all boats and stores; None for no limit.
    readiness
        Least chance, per boat, of meeting no shortage of any `stops` part; None for no limit.
    carry_over
        Share of its price that an unused spare, or an unspent life, is worth at the end.
    share_stops, share_limits, share_nuisance
        Share of the day cost lost while a part of that consequence is missing.
    days_to_fix
        Days lost to a failure even with the spare aboard, for parts that do not say.
    capital_rate
        Yearly cost of money tied up in stock, as a share.
    gap
        Proven distance from the best plan at which the solver may stop, as a share.
    seconds
        Longest time the solver may take.
    """

    planned_on: date
    currency: str = "EUR"
    mass_unit: MassUnit = "kg"
    volume_unit: VolumeUnit = "litres"
    paper: Paper = "a4"
    rates: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    budget: float | None = None
    readiness: float | None = None
    carry_over: float = 0.5
    share_stops: float = 1.0
    share_limits: float = 0.3
    share_nuisance: float = 0.05
    days_to_fix: float = 0.5
    capital_rate: float = 0.08
    gap: float = 0.001
    seconds: float = 60.0

    @property
    def measures(self) -> Measures:
        """Return the units in which the report shows masses and room."""
        return Measures(mass=self.mass_unit, volume=self.volume_unit)

    def share(self, consequence: str) -> float:
        """Return the share of the day cost that `consequence` costs.

        Examples
        --------
        >>> Settings(planned_on=date(2031, 4, 1)).share("limits")
        0.3
        """
        shares = {
            "stops": self.share_stops,
            "limits": self.share_limits,
            "nuisance": self.share_nuisance,
        }
        return shares[consequence]
