"""Where the pieces of one line could come from instead, with every other line left as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from stockopt.choices.choices import Choice
from stockopt.sourcing import Offer
from stockopt.why.ledger import Ledger, Line


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplied:
    """Where the pieces of one line come from.

    Parameters
    ----------
    own, moved
        Her own, and those of her store.
    near
        By other store or boat of her harbour.
    bought
        By offer of her place.
    worth
        Of the pieces drawn from stock, used up of her own, or had from other boats, beyond those
        drawn now.
    """

    own: int
    moved: int
    near: Mapping[str, int]
    bought: Mapping[Offer, int]
    worth: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pool:
    """Pieces that are there already: where, how many, and what one is worth."""

    place: str
    pieces: int
    worth: float


def list_supplied(ledger: Ledger, line: Line, choice: Choice) -> Iterator[Supplied]:
    """List where the pieces of another choice can come from, starting from where they do now.

    Her own that were used up with another part and that the choice takes are made up for. None
    where the choice takes what another boat has from her.
    """
    part = line.part
    now = Supplied(
        own=line.pick.own,
        moved=line.pick.moved,
        near=dict(line.pick.near),
        bought=dict(line.pick.bought),
    )
    own_used_up = line.bound_own - line.given
    left = part.count_spare(choice) - line.given if line.bound_own else 0
    if left < 0:
        return
    own = (choice.pieces - part.count_wanted(choice)) - (
        line.choice.pieces - part.count_wanted(line.choice)
    )
    made_up = max(0, own_used_up - left)
    own -= made_up
    now = replace(now, own=now.own + own, worth=-made_up * part.leftover)
    missing = choice.pieces - line.choice.pieces - own
    if missing < 0:
        yield from _give_back(now, -missing, line)
        return
    there, lacking = _take_what_is_there(ledger, line, now, missing)
    if not lacking:
        yield there
    for offer in part.offers if missing else ():
        if offer.parts.get(part.part):
            yield _add(now, offer, missing)
            if 0 < lacking < missing:
                yield _add(there, offer, lacking)


def _take_what_is_there(
    ledger: Ledger, line: Line, now: Supplied, missing: int
) -> tuple[Supplied, int]:
    """Take what is left of packs bought for her place, then from stores, then from boats."""
    name = line.part.part
    for offer in line.part.offers:
        inside = ledger.packs.get((line.place, offer), 0) * offer.pack * offer.parts.get(name, 0)
        taken = min(missing, inside - ledger.used.get((line.place, offer, name), 0))
        if taken > 0:
            now, missing = _add(now, offer, taken), missing - taken
    for pool in _list_pools(ledger, line):
        taken = min(missing, pool.pieces)
        if taken <= 0:
            continue
        missing -= taken
        now = replace(now, worth=now.worth + taken * pool.worth)
        if pool.place == line.place:
            now = replace(now, moved=now.moved + taken)
        else:
            near = {**now.near, pool.place: now.near.get(pool.place, 0) + taken}
            now = replace(now, near=near)
    return now, missing


def _list_pools(ledger: Ledger, line: Line) -> Iterator[_Pool]:
    """List the stock left in her store, in others of her harbour, and on boats there."""
    part, choices = line.part, ledger.choices
    harbour = choices.boats[part.boat].harbour
    others = [store for store in ledger.stores.get(harbour, ()) if store != line.place]
    for store in (line.place, *others):
        left = choices.stock.get((store, part.part), 0) - ledger.drawn.get((store, part.part), 0)
        if store != part.boat:
            yield _Pool(place=store, pieces=left, worth=part.leftover)
    for other in ledger.givers.get((harbour, part.part), ()):
        giver = other.part
        if giver.boat != part.boat:
            spare = giver.count_spare(other.choice) - other.bound_own
            pieces = min(spare, giver.movable - other.given)
            yield _Pool(place=giver.boat, pieces=pieces, worth=giver.leftover)


def _add(now: Supplied, offer: Offer, pieces: int) -> Supplied:
    return replace(now, bought={**now.bought, offer: now.bought.get(offer, 0) + pieces})


def _give_back(now: Supplied, pieces: int, line: Line) -> Iterator[Supplied]:
    """Give pieces back: to one offer first or to none, then to her store."""
    for first in (*now.bought, None):
        left = pieces
        bought = dict(now.bought)
        for offer in sorted(now.bought, key=lambda other: (other != first, -other.landed)):
            if first is None:
                break
            returned = min(left, bought[offer])
            bought[offer] -= returned
            left -= returned
        if left <= now.moved:
            worth = now.worth - left * line.part.leftover
            yield replace(now, moved=now.moved - left, bought=bought, worth=worth)
