"""What the program has to decide on, in one fixed order, with what cannot be best left out."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stockopt.choices.choices import BoatPart, Choices, name_ahead
from stockopt.program.options import Option, Uses, list_options
from stockopt.sourcing import Charges, Offer

#: Where pieces for a part on a boat come from: an offer, or (None) the stock of stores.
Supply = Offer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """Pieces that one option of another need wants of this one."""

    need: int
    option: int
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One part on one boat: the options left, and the supplies that can cover what is wanted.

    Her own pieces are always used first: they are free, and a piece bought in their stead would
    be a surplus piece of the same worth.

    Parameters
    ----------
    part, place
        Which, and where orders for it are delivered.
    options, supplies
        What can be chosen, and what can cover it.
    calls
        What is wanted beside the options' own: pieces used up where another part is replaced
        now; and, of pieces that meet her at `port`, all of them.
    port
        "" for pieces wanted before departure; else the port where they meet her, and the need has
        no options of its own.
    harbour
        Where boats and stores share what they have; "" for none.
    stores
        (store, pieces) of the stock she can draw on, her own store first.
    spares
        True where her own pieces left ashore can be used up with another part.
    gives, takes
        True where other boats of her harbour can have her surplus pieces, and she theirs.
    """

    part: BoatPart
    place: str
    options: tuple[Option, ...]
    supplies: tuple[Supply, ...]
    calls: tuple[Call, ...] = ()
    port: str = ""
    harbour: str = ""
    stores: tuple[tuple[str, int], ...] = ()
    spares: bool = False
    gives: bool = False
    takes: bool = False

    @property
    def most_wanted(self) -> int:
        """Return the most pieces that can be wanted."""
        most: dict[int, int] = {}
        for call in self.calls:
            most[call.need] = max(call.pieces, most.get(call.need, 0))
        own = max((option.wanted for option in self.options), default=0)
        return own + sum(most.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One offer at one place: what the boats there can share packs of.

    Parameters
    ----------
    place, offer
        Which.
    users
        Positions in the list of needs of those who can draw on it.
    credits
        Worth of one surplus piece of each part in it, see :func:`find_part_credits`.
    most_packs
        More packs than this never pay: they cover all that could be wanted, and reach the
        order's minimum and its free freight by themselves.
    """

    place: str
    offer: Offer
    users: tuple[int, ...]
    credits: Mapping[str, float]
    most_packs: int

    @property
    def credit(self) -> float:
        """Return the worth of one surplus piece of the offer; of a set, of all that it holds."""
        return sum(
            pieces * self.credits.get(part, 0.0) for part, pieces in self.offer.parts.items()
        )


def list_needs(choices: Choices) -> list[Need]:
    """List every boat's parts, sorted by boat and part, options and supplies sorted too.

    Parameters
    ----------
    choices
        In any order; the result does not depend on it.

    Returns
    -------
    list of Need
        A need may have no option left: then nothing can bring its floor aboard in time. After
        those of the boats' parts stand those for pieces that meet them on the way.
    """
    parts = sorted(choices.parts, key=lambda part: (part.boat, part.part))
    stores = _list_stores(choices)
    feeding = _list_used_up(parts)
    movable = _count_movable(choices)
    needs = []
    for part in parts:
        limits = choices.boats[part.boat]
        near = limits.harbour or limits.place
        there = stores.get((near, part.part), {})
        own_first = sorted(there.items(), key=lambda store: (store[0] != limits.place, store[0]))
        elsewhere = movable.get((limits.harbour, part.part), Counter()).keys() - {part.boat}
        supplies: list[Supply] = _sort_offers(part.offers)
        if there:
            supplies.insert(0, None)
        spares = (part.boat, part.part) in feeding and part.on_hand > 0
        gives = part.movable > 0 and limits.harbour != ""
        uses = Uses(feeds=any(n for _, n in part.uses), spares=spares or gives)
        needs.append(
            Need(
                part=part,
                place=limits.place,
                options=list_options(part, choices, uses, can_bring=bool(supplies or elsewhere)),
                supplies=tuple(supplies),
                harbour=limits.harbour,
                stores=tuple(own_first),
                spares=spares,
                gives=gives,
                takes=bool(elsewhere),
            )
        )
    return _add_calls(needs)


def _sort_offers(offers: Sequence[Offer]) -> list[Supply]:
    return [*sorted((offer for offer in offers if offer.most != 0), key=sort_offer)]


def _list_stores(choices: Choices) -> dict[tuple[str, str], dict[str, int]]:
    """List by (harbour or place, part) the pieces in stock of the stores there."""
    harbour = {limits.place: limits.harbour for limits in choices.boats.values()}
    stores: defaultdict[tuple[str, str], dict[str, int]] = defaultdict(dict)
    for (store, part), pieces in choices.stock.items():
        if pieces > 0:
            stores[harbour.get(store) or store, part][store] = pieces
    return dict(stores)


def _list_used_up(parts: Sequence[BoatPart]) -> set[tuple[str, str]]:
    """List (boat, part) of the parts used up where another is replaced now."""
    return {
        (part.boat, other)
        for part in parts
        if any(choice.replace_now for choice in part.choices)
        for other, pieces in part.uses
        if pieces
    }


def _count_movable(choices: Choices) -> dict[tuple[str, str], Counter[str]]:
    """Count by (harbour, part) the pieces that each boat could let others have."""
    movable: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for part in choices.parts:
        harbour = choices.boats[part.boat].harbour
        if harbour and part.movable > 0:
            movable[harbour, part.part][part.boat] = part.movable
    return dict(movable)


def _add_calls(needs: list[Need]) -> list[Need]:
    """Add what options want of other needs: pieces used up, and pieces that meet her."""
    position = {(need.part.boat, need.part.part): i for i, need in enumerate(needs)}
    calls: defaultdict[int, list[Call]] = defaultdict(list)
    met: list[Need] = []
    for i, need in enumerate(needs):
        for other, quantity in need.part.uses:
            at = position.get((need.part.boat, other))
            for j, option in enumerate(need.options):
                if at is not None and (pieces := quantity * option.choice.replace_now):
                    calls[at].append(Call(need=i, option=j, pieces=pieces))
        for ahead in sorted(need.part.ahead, key=lambda ahead: ahead.port):
            wanted = tuple(
                Call(need=i, option=j, pieces=option.choice.ahead)
                for j, option in enumerate(need.options)
                if option.choice.ahead and option.choice.ahead_at == ahead.port
            )
            if wanted:
                met.append(
                    Need(
                        part=need.part,
                        place=name_ahead(need.part.boat, ahead.port),
                        options=(),
                        supplies=tuple(_sort_offers(ahead.offers)),
                        calls=wanted,
                        port=ahead.port,
                    )
                )
    return [replace(need, calls=tuple(calls[i])) for i, need in enumerate(needs)] + met


def list_lines(needs: Sequence[Need], choices: Choices) -> dict[tuple[str, Offer], Line]:
    """List the offers worth buying from at each place, sorted by place, source, part.

    Those of which nothing is wanted can still fill an order up to its minimum or free freight.
    """
    worth = find_part_credits(choices)
    users: dict[tuple[str, Offer], list[int]] = {key: [] for key in worth}
    for position, need in enumerate(needs):
        for offer in need.supplies if need.most_wanted else ():
            if offer is not None:
                users[need.place, offer].append(position)
    lines = {}
    for place, offer in sorted(users, key=lambda key: (key[0], *sort_offer(key[1]))):
        drawing = users[place, offer]
        pieces: Counter[str] = Counter()
        for position in drawing:
            pieces[needs[position].part.part] += needs[position].most_wanted
        most_packs = _find_most_packs(offer, choices.charges[offer.source, place], pieces)
        if most_packs > 0:
            lines[place, offer] = Line(
                place=place,
                offer=offer,
                users=tuple(drawing),
                credits=worth[place, offer],
                most_packs=most_packs,
            )
    return lines


def find_part_credits(choices: Choices) -> dict[tuple[str, Offer], dict[str, float]]:
    """Return by (place, offer), then part, what one surplus piece is worth: the least there.

    The least leftover over the boats of the place that can draw on the offer, as it is not known
    whose it will be. A part of a set that no boat of the place has is worth nothing, and so is what
    is left of packs that meet a boat on her way: no room is kept for it aboard, so it stays there.
    """
    worth: dict[tuple[str, Offer], dict[str, float]] = {}
    for part in choices.parts:
        for offer in part.offers:
            least = worth.setdefault((choices.boats[part.boat].place, offer), {})
            least[part.part] = min(part.leftover, least.get(part.part, part.leftover))
        for ahead in part.ahead:
            for offer in ahead.offers:
                worth[name_ahead(part.boat, ahead.port), offer] = {part.part: 0.0}
    return worth


def sort_offer(offer: Offer) -> tuple[str, str, int, float, float, str]:
    """Return what offers are sorted by, so that the order they come in does not matter."""
    return (offer.source, offer.part, offer.pack, offer.price, offer.landed, offer.port)


def _find_most_packs(offer: Offer, charges: Charges, pieces: Mapping[str, int]) -> int:
    packs = max(
        math.ceil(pieces.get(part, 0) / (offer.pack * inside))
        for part, inside in offer.parts.items()
    )
    if offer.price > 0.0:
        threshold = max(charges.minimum_order or 0.0, charges.free_freight_from or 0.0)
        packs = max(packs, math.ceil(threshold / (offer.price * offer.pack)))
    return packs if offer.most is None else min(packs, offer.most)
