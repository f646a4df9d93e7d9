"""What is done before departure: the plan, or a rule of thumb, as far as seasons depend on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from stockopt.choices.choices import name_ahead
from stockopt.plan import CarryLine, Plan
from stockopt.rehearsal.shelf import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Stowed:
    """One part on one boat.

    Parameters
    ----------
    carry, replace_now, restock, on_hand
        As in a line of the plan.
    ashore
        Pieces of hers that her own spares and changes leave ashore, worth something at the end.
    awaited
        Pieces of it that an order brings, by source: not there while that order is late.
    ahead, ahead_at, ahead_day
        Pieces that meet her in a port on her way, which, and when, in days from the day of the
        plan.
    own_left, moved
        As in a line of the plan.
    """

    carry: int
    replace_now: int
    restock: bool
    on_hand: int
    ashore: int = 0
    awaited: tuple[tuple[str, int], ...] = ()
    ahead: int = 0
    ahead_at: str = ""
    ahead_day: float = 0.0
    own_left: int = 0
    moved: int = 0


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
        Pieces that leave the stock of stores, or that a boat's own spares lose to changes of other
        parts and to other boats: worth used up. Counted negative: pieces of packs beyond what boats
        take, worth that stays.
    goods
        By order (source, place): what it costs in all, part of `spend_now`.
    shelves
        By store and part; a store is taken to have most pieces of what stands on no shelf.
    """

    name: str
    stowed: Mapping[tuple[str, str], Stowed]
    spend_now: float
    drawn: tuple[Extra, ...]
    goods: Mapping[tuple[str, str], float]
    shelves: Mapping[tuple[str, str], Shelf] = field(default_factory=dict)


def policy_of(
    plan: Plan,
    places: Mapping[str, str],
    kits: Mapping[str, Mapping[str, int]],
    name: str = "the plan",
) -> Policy:
    """Return what a plan does before departure.

    Parameters
    ----------
    plan
        The plan.
    places
        By boat: where orders for her are delivered, her store or herself.
    kits
        By number of a set: its parts and their quantities.
    name
        What to call it.
    """
    waiting: Counter[tuple[str, str, str]] = Counter()
    for order in plan.orders:
        for part, quantity in kits.get(order.part, {order.part: 1}).items():
            waiting[order.place, part, order.source] += quantity * order.pieces
    stowed, drawn = {}, []
    for line in plan.carry:
        own = _stow(line, plan, places[line.boat], waiting)
        stowed[line.boat, line.part] = own
        left = line.on_hand + line.moved + line.buy
        left -= line.carry + line.replace_now + line.used_up + line.given
        from_stores = sum(pieces for place, pieces in line.moved_from if place not in places)
        if from_stores or own.ashore != left:
            pieces = from_stores + own.ashore - left
            drawn.append(Extra(boat=line.boat, part=line.part, pieces=pieces))
    boat_at = {place: boat for boat, place in sorted(places.items(), reverse=True)}
    boat_at |= {
        name_ahead(line.boat, line.ahead_at): line.boat for line in plan.carry if line.ahead
    }
    drawn += [
        Extra(boat=boat_at[place], part=part, pieces=-pieces)
        for (place, part, _), pieces in sorted(waiting.items())
        if pieces
    ]
    goods = _add_up_goods(plan)
    return Policy(
        name=name,
        stowed=stowed,
        spend_now=sum(goods.values()),
        drawn=tuple(drawn),
        goods=goods,
        shelves=_list_shelves(plan),
    )


def _add_up_goods(plan: Plan) -> dict[tuple[str, str], float]:
    """Return what each order costs, pieces and charges, by (source, place)."""
    goods: dict[tuple[str, str], float] = {}
    for order in plan.orders:
        key = (order.source, order.place)
        goods[key] = goods.get(key, 0.0) + order.pieces * order.landed
    for charge in plan.charges:
        goods[charge.source, charge.place] += charge.freight + charge.handling
    return goods


def _list_shelves(plan: Plan) -> dict[tuple[str, str], Shelf]:
    return {
        (line.store, line.part): Shelf(
            level=line.level,
            source=line.source,
            reorder_point=line.reorder_point,
            order_quantity=line.order_quantity,
            moved_in=line.moved_in,
        )
        for line in plan.stores
    }


def _stow(
    line: CarryLine, plan: Plan, place: str, waiting: Counter[tuple[str, str, str]]
) -> Stowed:
    """Return what a line does; what orders bring for it is taken off `waiting`."""
    day = 0.0
    if line.ahead and line.ahead_on is not None:
        day = float((line.ahead_on - plan.planned_on).days)
        _take(line.ahead, name_ahead(line.boat, line.ahead_at), line.part, waiting)
    return Stowed(
        carry=line.carry,
        replace_now=line.replace_now,
        restock=line.restock,
        on_hand=line.on_hand,
        ashore=max(line.on_hand - line.carry - line.replace_now, 0),
        awaited=_take(line.buy, place, line.part, waiting),
        ahead=line.ahead,
        ahead_at=line.ahead_at,
        ahead_day=day,
        own_left=line.own_left,
        moved=line.moved,
    )


def _take(
    wanted: int, place: str, part: str, waiting: Counter[tuple[str, str, str]]
) -> tuple[tuple[str, int], ...]:
    """Return which orders bring the pieces wanted at a place, and take them off those orders."""
    taken = []
    for key in sorted(key for key in waiting if key[:2] == (place, part)):
        pieces = min(wanted, waiting[key])
        if pieces:
            waiting[key] -= pieces
            wanted -= pieces
            taken.append((key[2], pieces))
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
    shelves = {
        key: replace(shelf, source="") if shelf.source == source else shelf
        for key, shelf in policy.shelves.items()
    }
    return replace(
        policy, stowed=stowed, goods=goods, spend_now=sum(goods.values()), shelves=shelves
    )
