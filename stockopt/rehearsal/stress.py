"""Worse circumstances than the tables tell, and the plan that would be made for each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from stockopt.errors import NoPlanError
from stockopt.plan import Plan
from stockopt.rehearsal.seasons import World
from stockopt.sourcing import price_offers

#: Failures come so many times as fast, and deliveries take so many times as long.
FASTER = 1.5
LATER = 2.0

#: Plans anew for a world, doing without some sources; raises NoPlanError where no plan keeps the
#: limits.
Replan = Callable[[World, tuple[str, ...]], Plan]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """Worse circumstances, and the plan made knowing them.

    Parameters
    ----------
    what
        In words.
    world
        What its seasons are drawn from.
    lost_source
        A source that delivers nothing; "" for none.
    plan
        Made for them; None where no plan keeps the limits, or where none was asked for.
    why_none
        What clashes where no plan keeps the limits.
    """

    what: str
    world: World
    lost_source: str = ""
    plan: Plan | None = None
    why_none: tuple[str, ...] = ()


def list_stresses(world: World, plan: Plan, replan: Replan) -> Iterator[Stress]:
    """Yield the circumstances one after the other, each planned for when its turn comes.

    Orders are placed on the day of the plan. A mail source that is gone has taken no money.
    """
    faster = replace(world, rate=FASTER * world.rate)
    yield _plan_for(f"failures {FASTER:g} times as fast at every age", faster, replan)
    uncertain = replace(world, times_late=1.0)
    yield Stress(what="deliveries late 1 time in 10, as the sources tell", world=uncertain)
    yield _plan_for(f"deliveries take {LATER:g} times as long", _deliver_later(world), replan)
    for source in sorted({line.source for line in plan.orders if line.kind == "mail"}):
        yield _plan_for(f"nothing comes from {source}", world, replan, lost_source=source)


def _deliver_later(world: World) -> World:
    """Return a world in which every source takes longer, and is known to."""
    sources = world.fleet.sources
    slow = sources.assign(
        lead_days=sources["lead_days"] * LATER, late_days=sources["late_days"] * LATER
    )
    fleet = replace(world.fleet, sources=slow)
    return replace(world, fleet=fleet, offers=price_offers(fleet), times_late=1.0)


def _plan_for(what: str, world: World, replan: Replan, lost_source: str = "") -> Stress:
    stress = Stress(what=what, world=world, lost_source=lost_source)
    try:
        return replace(stress, plan=replan(world, (lost_source,) if lost_source else ()))
    except NoPlanError as error:
        return replace(stress, why_none=tuple(str(error).splitlines()))
