"""What the program has to decide on, in one fixed order, with what cannot be best left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.sourcing import Charges, Offer

#: Where pieces for a part on a boat come from: an offer, or (None) her store's stock.
Supply = Offer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One choice that could be best.

    Parameters
    ----------
    index
        Of the choice in its :class:`~stockopt.choices.choices.BoatPart`.
    choice
        The choice itself.
    wanted
        Pieces that her own stock does not cover, max(0, n + f - on hand).
    """

    index: int
    choice: Choice
    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One part on one boat: the options left, and the supplies that can cover what is wanted.

    Her own pieces are always used first: they are free, and a piece bought in their stead would
    be a surplus piece of the same worth.
    """

    part: BoatPart
    place: str
    options: tuple[Option, ...]
    supplies: tuple[Supply, ...]

    @property
    def most_wanted(self) -> int:
        """Return the most pieces that any option wants."""
        return max((option.wanted for option in self.options), default=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One offer at one place: what the boats there can share packs of.

    Parameters
    ----------
    place, offer
        Which.
    users
        Positions in the list of needs of those who can draw on it.
    credit
        Worth of one surplus piece, see :func:`find_credits`.
    most_packs
        More packs than this never pay: they cover all that could be wanted, and reach the
        order's minimum and its free freight by themselves.
    """

    place: str
    offer: Offer
    users: tuple[int, ...]
    credit: float
    most_packs: int


def list_needs(choices: Choices) -> list[Need]:
    """List every boat's parts, sorted by boat and part, options and supplies sorted too.

    Parameters
    ----------
    choices
        In any order; the result does not depend on it.

    Returns
    -------
    list of Need
        A need may have no option left: then nothing can bring its floor aboard in time.
    """
    needs = []
    for part in sorted(choices.parts, key=lambda part: (part.boat, part.part)):
        place = choices.boats[part.boat].place
        to_be_had = (offer for offer in part.offers if offer.most != 0)
        supplies: list[Supply] = [*sorted(to_be_had, key=sort_offer)]
        if choices.stock.get((place, part.part), 0) > 0:
            supplies.insert(0, None)
        options = _list_options(part, choices, can_bring=bool(supplies))
        needs.append(Need(part=part, place=place, options=options, supplies=tuple(supplies)))
    return needs


def list_lines(needs: Sequence[Need], choices: Choices) -> dict[tuple[str, Offer], Line]:
    """List the offers worth buying from at each place, sorted by place, source, part.

    Those of which nothing is wanted can still fill an order up to its minimum or free freight.
    """
    worth = find_credits(choices)
    users: dict[tuple[str, Offer], list[int]] = {key: [] for key in worth}
    for position, need in enumerate(needs):
        for offer in need.supplies if need.most_wanted else ():
            if offer is not None:
                users[need.place, offer].append(position)
    lines = {}
    for place, offer in sorted(users, key=lambda key: (key[0], *sort_offer(key[1]))):
        drawing = users[place, offer]
        pieces = sum(needs[position].most_wanted for position in drawing)
        most_packs = _find_most_packs(offer, choices.charges[offer.source, place], pieces)
        if most_packs > 0:
            lines[place, offer] = Line(
                place=place,
                offer=offer,
                users=tuple(drawing),
                credit=worth[place, offer],
                most_packs=most_packs,
            )
    return lines


def find_credits(choices: Choices) -> dict[tuple[str, Offer], float]:
    """Return by (place, offer) what one surplus piece is worth: the least leftover there.

    The least over the boats of the place that can draw on the offer, as it is not known whose
    it will be.
    """
    worth: dict[tuple[str, Offer], float] = {}
    for part in choices.parts:
        place = choices.boats[part.boat].place
        for offer in part.offers:
            least = worth.get((place, offer), part.leftover)
            worth[place, offer] = min(least, part.leftover)
    return worth


def sort_offer(offer: Offer) -> tuple[str, str, int, float, float, str]:
    """Return what offers are sorted by, so that the order they come in does not matter."""
    return (offer.source, offer.part, offer.pack, offer.price, offer.landed, offer.port)


def _find_most_packs(offer: Offer, charges: Charges, pieces: int) -> int:
    packs = math.ceil(pieces / offer.pack)
    if offer.price > 0.0:
        threshold = max(charges.minimum_order or 0.0, charges.free_freight_from or 0.0)
        packs = max(packs, math.ceil(threshold / (offer.price * offer.pack)))
    return packs if offer.most is None else min(packs, offer.most)


def _list_options(part: BoatPart, choices: Choices, *, can_bring: bool) -> tuple[Option, ...]:
    """Keep the choices that no other is at least as good as in every limit and in cost."""
    limits = choices.boats[part.boat]
    heavy = (limits.kg is not None and part.kg > 0.0) or (
        limits.litres is not None and part.litres > 0.0
    )
    risky = part.stops and choices.readiness is not None

    def burden(option: Option) -> tuple[int, int, float, float]:
        choice = option.choice
        return (
            option.wanted,
            choice.carry if heavy else 0,
            choice.shortage_chance if risky else 0.0,
            choice.later_cost,
        )

    options = [
        Option(index=index, choice=choice, wanted=max(0, choice.pieces - part.on_hand))
        for index, choice in enumerate(part.choices)
    ]
    # Sorted by burden, an option can only be beaten by one that stands before it.
    options.sort(
        key=lambda option: (
            burden(option),
            option.choice.carry,
            option.choice.replace_now,
            option.choice.restock,
        )
    )
    kept: list[Option] = []
    for option in options:
        if option.wanted and not can_bring:
            continue
        mine = burden(option)
        if not any(
            all(a <= b for a, b in zip(burden(better), mine, strict=True)) for better in kept
        ):
            kept.append(option)
    return tuple(kept)
