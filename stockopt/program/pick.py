"""From what is taken and brought to whole pieces, packs and money."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from stockopt.choices.choices import BoatPart, Choices, name_ahead
from stockopt.program.in_order import put_in_order
from stockopt.program.needs import Need, Supply, find_part_credits
from stockopt.program.options import Option
from stockopt.program.share_out import share_out_near, share_out_stock
from stockopt.program.solution import Bought, Picked
from stockopt.sourcing import Offer

#: Share by which a goods value may miss a threshold and still reach it: the solver's tolerance.
_TOLERANCE = 1e-6


def put_together(
    needs: Sequence[Need],
    options: Sequence[Option | None],
    brought: Sequence[dict[Supply, int]],
    *,
    own: Mapping[int, int],
    given: Mapping[int, int],
    near: Mapping[int, int],
    choices: Choices,
) -> tuple[Picked, ...]:
    """Put together what is picked for every boat's part.

    Parameters
    ----------
    needs, options, brought
        By need: itself, the option taken (None for pieces that meet her), and the pieces of each
        supply.
    own, given, near
        By position of the need: her own pieces used up with another part, those she gives, and
        those she has from other boats.
    choices
        What was chosen from.
    """
    picked: list[Picked] = []
    position: dict[tuple[str, str], int] = {}
    brought = put_in_order(needs, brought, choices)
    stock = share_out_stock(needs, [there.pop(None, 0) for there in brought])
    shared = share_out_near(needs, given=given, wanted=near)
    for i, (need, option) in enumerate(zip(needs, options, strict=True)):
        bought = tuple((o, n) for o, n in brought[i].items() if o is not None and n > 0)
        if option is None:
            at = position[need.part.boat, need.part.part]
            picked[at] = replace(picked[at], met=picked[at].met + bought)
            continue
        others = shared.get(i, Counter())
        used = own.get(i, 0) + others.pop(need.part.boat, 0)
        taken = pick(need, option, {None: stock[i].pop(need.place, 0), **dict(bought)})
        moved = (*stock[i].items(), *others.items())
        position[need.part.boat, need.part.part] = len(picked)
        picked.append(replace(taken, own=taken.own + used, near=tuple(sorted(moved))))
    return tuple(picked)


def pick(need: Need, option: Option, brought: Mapping[Supply, int]) -> Picked:
    """Return one boat's part with the option taken and the pieces that each supply brings."""
    return Picked(
        boat=need.part.boat,
        part=need.part.part,
        choice=option.index,
        own=option.choice.pieces - option.wanted,
        moved=brought.get(None, 0),
        bought=tuple((o, n) for o, n in brought.items() if o is not None and n > 0),
    )


def find_free_freight(choices: Choices, bought: Iterable[Bought]) -> frozenset[tuple[str, str]]:
    """Return the (source, place) of orders whose goods value reaches free freight."""
    goods: dict[tuple[str, str], float] = defaultdict(float)
    for line in bought:
        value = line.offer.price * line.packs * line.offer.pack
        goods[line.offer.source, line.place] += value
    return frozenset(
        key
        for key, value in goods.items()
        if (threshold := choices.charges[key].free_freight_from) is not None
        and value >= threshold - _TOLERANCE * max(1.0, threshold)
    )


def find_costs(
    choices: Choices,
    picked: Iterable[Picked],
    bought: Iterable[Bought],
    free_freight: frozenset[tuple[str, str]],
) -> tuple[float, float]:
    """Work out money spent now and expected later cost, in whole pieces and packs.

    Returns
    -------
    spend_now
        Packs at their landed cost, and order charges.
    expected_later
        Later cost of the choices, and the leftover worth of pieces drawn from stores' stock, used
        up with other parts from her own, and given away by other boats, less that of surplus
        pieces of packs. Both together are the program's objective.
    """
    parts = {(part.boat, part.part): part for part in choices.parts}
    used: Counter[tuple[str, Offer, str]] = Counter()
    spend_now = later = 0.0
    for pick in picked:
        part = parts[pick.boat, pick.part]
        choice = part.choices[pick.choice]
        later += choice.later_cost + _find_worth(pick, part, parts)
        for place, offer, pieces in list_bought_for(pick, part, choices):
            used[place, offer, pick.part] += pieces
    worth = find_part_credits(choices)
    orders = set()
    for line in bought:
        spend_now += line.packs * line.offer.pack * line.offer.landed
        for name, credit in sorted(worth[line.place, line.offer].items()):
            pieces = line.packs * line.offer.pack * line.offer.parts[name]
            later -= (pieces - used[line.place, line.offer, name]) * credit
        orders.add((line.offer.source, line.place))
    for key in sorted(orders):
        charges = choices.charges[key]
        spend_now += charges.handling + (0.0 if key in free_freight else charges.per_order)
    return spend_now, later


def _find_worth(pick: Picked, part: BoatPart, parts: Mapping[tuple[str, str], BoatPart]) -> float:
    """Return the worth of the pieces of boats and stores that her choice alone does not use."""
    choice = part.choices[pick.choice]
    used_up = pick.own - (choice.pieces - part.count_wanted(choice))
    worth = (pick.moved + used_up) * part.leftover
    for place, pieces in pick.near:
        giver = parts.get((place, pick.part), part)
        worth += pieces * giver.leftover
    return worth


def list_bought_for(
    pick: Picked, part: BoatPart, choices: Choices
) -> Iterator[tuple[str, Offer, int]]:
    """Yield (place, offer, pieces) of what is bought for one boat's part, met on her way too."""
    for offer, pieces in pick.bought:
        yield choices.boats[pick.boat].place, offer, pieces
    for offer, pieces in pick.met:
        yield name_ahead(pick.boat, part.choices[pick.choice].ahead_at), offer, pieces
