"""What is done before departure: the plan, or a rule of thumb, as far as seasons depend on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stockopt.plan import CarryLine, OrderLine, Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Stowed:
    """One part on one boat.

    Parameters
    ----------
    carry, replace_now, restock, on_hand
        As in a line of the plan.
    awaited
        Pieces of it that an order brings, by source: not there while that order is late.
    """

    carry: int
    replace_now: int
    restock: bool
    on_hand: int
    awaited: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """Pieces that change their worth without going aboard as bought: see :class:`Policy`."""

    boat: str
    part: str
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """A plan or a rule, played out.

    Parameters
    ----------
    name
        In words.
    stowed
        By boat and part; what is not there is not carried.
    spend_now
        Goods at their landed cost and the charges of orders, in the plan's currency.
    drawn
        Pieces drawn from the stock of a boat's store (they leave it: worth used up), and, counted
        negative, pieces of packs bought beyond what boats take (worth that stays).
    goods
        By order (source, place): what it costs in all, part of `spend_now`.
    """

    name: str
    stowed: Mapping[tuple[str, str], Stowed]
    spend_now: float
    drawn: tuple[Extra, ...]
    goods: Mapping[tuple[str, str], float]


def policy_of(plan: Plan, places: Mapping[str, str], name: str = "the plan") -> Policy:
    """Return what a plan does before departure.

    Parameters
    ----------
    plan
        The plan.
    places
        By boat: where orders for her are delivered, her store or herself.
    name
        What to call it.
    """
    waiting = {(line.place, line.part, line.source): line.pieces for line in plan.orders}
    stowed, drawn = {}, []
    for line in plan.carry:
        awaited = _take(line, places[line.boat], plan.orders, waiting)
        stowed[line.boat, line.part] = Stowed(
            carry=line.carry,
            replace_now=line.replace_now,
            restock=line.restock,
            on_hand=line.on_hand,
            awaited=awaited,
        )
        if line.moved:
            drawn.append(Extra(boat=line.boat, part=line.part, pieces=line.moved))
    boat_at = {place: boat for boat, place in sorted(places.items(), reverse=True)}
    drawn += [
        Extra(boat=boat_at[place], part=part, pieces=-pieces)
        for (place, part, _), pieces in sorted(waiting.items())
        if pieces
    ]
    goods: dict[tuple[str, str], float] = {}
    for order in plan.orders:
        key = (order.source, order.place)
        goods[key] = goods.get(key, 0.0) + order.pieces * order.landed
    for charge in plan.charges:
        goods[charge.source, charge.place] += charge.freight + charge.handling
    return Policy(
        name=name, stowed=stowed, spend_now=sum(goods.values()), drawn=tuple(drawn), goods=goods
    )


def _take(
    line: CarryLine,
    place: str,
    orders: tuple[OrderLine, ...],
    waiting: dict[tuple[str, str, str], int],
) -> tuple[tuple[str, int], ...]:
    """Return which orders bring the pieces bought for a line, and take them off those orders."""
    wanted, taken = line.buy, []
    for order in orders:
        key = (place, line.part, order.source)
        if order.place != place or order.part != line.part or not wanted:
            continue
        pieces = min(wanted, waiting[key])
        if pieces:
            waiting[key] -= pieces
            wanted -= pieces
            taken.append((order.source, pieces))
    return tuple(taken)


def without_source(policy: Policy, source: str) -> Policy:
    """Return what is left of a policy when a source neither delivers nor is paid.

    Pieces it would have brought are not aboard, and fitted pieces they were for stay where they
    are: spares go missing before changes do.
    """
    stowed = {}
    for key, line in policy.stowed.items():
        missing = sum(pieces for name, pieces in line.awaited if name == source)
        fewer = min(missing, line.carry)
        stowed[key] = replace(
            line,
            carry=line.carry - fewer,
            replace_now=line.replace_now - (missing - fewer),
            awaited=tuple(one for one in line.awaited if one[0] != source),
        )
    goods = {key: cost for key, cost in policy.goods.items() if key[0] != source}
    return replace(policy, stowed=stowed, goods=goods, spend_now=sum(goods.values()))
