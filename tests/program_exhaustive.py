"""The least cost of small choices by trying everything, with every feature of the program.

Written from the rules alone; it shares nothing with the program. What is tried: every choice of
every boat's part; every way to share what it wants over her own pieces, stores, other boats and
offers; every number of packs beyond, that could reach a minimum or free freight.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.sourcing import Offer

Line = tuple[str, Offer]  # the place delivered to, and the offer


@dataclass(frozen=True)
class _Wish:
    """Pieces of one part wanted at one time: before departure, or in a port on the way."""

    part: BoatPart
    pieces: int
    own: int  # her own pieces left ashore that may be used up
    place: str
    offers: tuple[Offer, ...]
    on_the_way: bool


@dataclass(frozen=True)
class _Way:
    """One way to bring a wish: what is used of each line, store and boat."""

    lines: tuple[tuple[Line, str, int], ...]
    stores: tuple[tuple[str, str, int], ...]
    boats: tuple[tuple[str, str, int], ...]
    cost: float  # worth of what is taken without buying it
    least: float  # and the landed cost of what is bought
    own: int


def find_least_cost(choices: Choices) -> float:
    """Return the least cost; infinity where no plan keeps the limits."""
    best = math.inf
    combinations = itertools.product(*(part.choices for part in choices.parts))
    for taken in sorted(combinations, key=lambda taken: sum(c.later_cost for c in taken)):
        later = sum(choice.later_cost for choice in taken)
        if later >= best:
            break
        pairs = list(zip(choices.parts, taken, strict=True))
        if _keeps_limits(pairs, choices):
            best = min(best, _Purchases(pairs, choices, later, best).find())
    return best


def _keeps_limits(pairs: list[tuple[BoatPart, Choice]], choices: Choices) -> bool:
    for boat, limits in choices.boats.items():
        hers = [(part, choice) for part, choice in pairs if part.boat == boat]
        kg = sum(part.kg * (choice.carry + choice.ahead) for part, choice in hers)
        litres = sum(part.litres * (choice.carry + choice.ahead) for part, choice in hers)
        safe = math.prod(1 - choice.shortage_chance for part, choice in hers if part.stops)
        if limits.kg is not None and kg > limits.kg + 1e-9:
            return False
        if limits.litres is not None and litres > limits.litres + 1e-9:
            return False
        if choices.readiness is not None and safe < choices.readiness - 1e-9:
            return False
    return True


def _count_own(part: BoatPart, choice: Choice) -> tuple[int, int]:
    """Return (pieces of her own that her choice uses, lasting pieces it leaves), piece by piece."""
    own = ["expires"] * (part.expiring - choice.own_left)
    own += ["lasts"] * (part.on_hand - part.expiring)
    used = 0
    for _ in range(choice.replace_now):  # short-dated ones are fitted first
        if own:
            own.pop(0)
            used += 1
    for _ in range(choice.carry):  # the longest-lasting are carried first
        if own:
            own.pop()
            used += 1
    return used, own.count("lasts")


class _Purchases:
    """The cheapest way to bring what one combination of choices wants."""

    def __init__(
        self,
        pairs: list[tuple[BoatPart, Choice]],
        choices: Choices,
        later: float,
        best: float,
    ) -> None:
        self.choices = choices
        self.best = best
        self.later = later
        self.spare = {(p.boat, p.part): _count_own(p, c)[1] for p, c in pairs}
        self.parts = {(p.boat, p.part): p for p, _ in pairs}
        self.wishes = list(self._list_wishes(pairs))
        self.credits: dict[tuple[Line, str], float] = {}
        for part in choices.parts:
            for offer in part.offers:
                line = (choices.boats[part.boat].place, offer)
                known = self.credits.get((line, part.part), math.inf)
                self.credits[line, part.part] = min(known, part.leftover)
            for ahead in part.ahead:  # what is left of packs met on the way is worth nothing
                for offer in ahead.offers:
                    self.credits[(f"{part.boat} in {ahead.port}", offer), part.part] = 0.0

    def _list_wishes(self, pairs: list[tuple[BoatPart, Choice]]) -> Iterator[_Wish]:
        for part, choice in pairs:
            used_up = sum(
                quantity * other_choice.replace_now
                for other, other_choice in pairs
                if other.boat == part.boat
                for name, quantity in other.uses
                if name == part.part
            )
            used, spare = _count_own(part, choice)
            wanted = choice.carry + choice.replace_now - used + used_up
            yield _Wish(
                part,
                wanted,
                min(spare, used_up),
                self.choices.boats[part.boat].place,
                part.offers,
                on_the_way=False,
            )
            for ahead in part.ahead:
                if choice.ahead and ahead.port == choice.ahead_at:
                    place = f"{part.boat} in {ahead.port}"
                    yield _Wish(part, choice.ahead, 0, place, ahead.offers, on_the_way=True)

    def find(self) -> float:
        self._go_on(0, [], self.later)
        return self.best

    def _go_on(self, number: int, ways: list[_Way], least: float) -> None:
        if least >= self.best - 1e-12:
            return
        if number == len(self.wishes):
            self._close(ways)
            return
        for way in self._list_ways(self.wishes[number]):
            self._go_on(number + 1, [*ways, way], least + way.least)

    def _list_ways(self, wish: _Wish) -> Iterator[_Way]:
        """Yield every split of a wish over everything that can bring it."""
        part = wish.part
        harbour = self.choices.boats[part.boat].harbour
        stores, boats = [], []
        if not wish.on_the_way:
            places = {
                limits.place: limits.harbour
                for limits in self.choices.boats.values()
                if limits.place == wish.place or (harbour and limits.harbour == harbour)
            }
            stores = [place for place in places if (place, part.part) in self.choices.stock]
            boats = [
                other.boat
                for other in self.parts.values()
                if other.part == part.part
                and other.boat != part.boat
                and harbour
                and self.choices.boats[other.boat].harbour == harbour
                and other.movable
            ]
        most = [
            wish.own,
            *(self.choices.stock[store, part.part] for store in stores),
            *(self.parts[boat, part.part].movable for boat in boats),
            *(wish.pieces for _ in wish.offers),
        ]
        for split in itertools.product(*(range(min(n, wish.pieces) + 1) for n in most)):
            if sum(split) != wish.pieces:
                continue
            own, rest = split[0], split[1:]
            from_stores = tuple(
                (store, part.part, n) for store, n in zip(stores, rest, strict=False) if n
            )
            from_boats = tuple(
                (boat, part.part, n)
                for boat, n in zip(boats, rest[len(stores) :], strict=False)
                if n
            )
            bought = rest[len(stores) + len(boats) :]
            lines = tuple(
                ((wish.place, offer), part.part, n)
                for offer, n in zip(wish.offers, bought, strict=True)
                if n
            )
            cost = part.leftover * (own + sum(n for *_, n in from_stores))
            cost += sum(self.parts[boat, part.part].leftover * n for boat, _, n in from_boats)
            landed = sum(line[1].find_landed(part.part) * n for line, _, n in lines)
            yield _Way(lines, from_stores, from_boats, cost, cost + landed, own)

    def _close(self, ways: list[_Way]) -> None:
        """Buy what the ways use, and as much more as can pay, within stock and budgets."""
        drawn: Counter[tuple[str, str]] = Counter()
        moved: Counter[tuple[str, str]] = Counter()
        used_own: Counter[tuple[str, str]] = Counter()
        used: Counter[tuple[Line, str]] = Counter()
        for wish, way in zip(self.wishes, ways, strict=True):
            used_own[wish.part.boat, wish.part.part] += way.own
            for store, part, n in way.stores:
                drawn[store, part] += n
            for boat, part, n in way.boats:
                moved[boat, part] += n
            for line, part, n in way.lines:
                used[line, part] += n
        if any(n > self.choices.stock[key] for key, n in drawn.items()):
            return
        for key, n in moved.items():
            if n > self.parts[key].movable or n + used_own[key] > self.spare[key]:
                return
        fixed = self.later + sum(way.cost for way in ways)
        self._buy(used, fixed, self._count_spending(ways))

    def _count_spending(self, ways: list[_Way]) -> dict[str, float]:
        """Count what is spent for each boat at a shared store, piece by piece."""
        spent: dict[str, float] = defaultdict(float)
        for wish, way in zip(self.wishes, ways, strict=True):
            if not wish.on_the_way and wish.place != wish.part.boat:
                for (_, offer), part, n in way.lines:
                    spent[wish.part.boat] += offer.find_landed(part) * n
        return spent

    def _buy(self, used: Counter[tuple[Line, str]], fixed: float, spent: dict[str, float]) -> None:
        orders = {(offer.source, place) for (place, offer), _ in used}
        lines = sorted(
            {line for line, _ in self.credits if (line[1].source, line[0]) in orders},
            key=lambda line: (line[0], line[1].source, line[1].part, line[1].pack),
        )
        least = [
            max(
                math.ceil(used[line, part] / (line[1].pack * inside))
                for part, inside in line[1].parts.items()
            )
            for line in lines
        ]
        goods: dict[tuple[str, str], float] = defaultdict(float)
        for (place, offer), n in zip(lines, least, strict=True):
            goods[offer.source, place] += offer.price * offer.pack * n
        for more in itertools.product(*(self._list_more(line, goods) for line in lines)):
            packs = {line: n + m for line, n, m in zip(lines, least, more, strict=True)}
            self.best = min(self.best, fixed + self._pay(packs, used, orders, spent))

    def _list_more(self, line: Line, goods: dict[tuple[str, str], float]) -> range:
        """List the packs beyond those used: no piece is worth its price but to fill an order."""
        place, offer = line
        charges = self.choices.charges[offer.source, place]
        threshold = charges.minimum_order or 0.0
        if charges.per_order > 0.0:
            threshold = max(threshold, charges.free_freight_from or 0.0)
        missing = max(0.0, threshold - goods[offer.source, place])
        return range(math.ceil(missing / (offer.price * offer.pack) - 1e-9) + 1)

    def _pay(
        self,
        packs: dict[Line, int],
        used: Counter[tuple[Line, str]],
        orders: set[tuple[str, str]],
        spent: dict[str, float],
    ) -> float:
        """Return what the packs cost less the worth of their surplus; infinity if not allowed."""
        goods: dict[tuple[str, str], float] = defaultdict(float)
        at: dict[str, float] = defaultdict(float)
        sold: Counter[tuple[str, str, int, float]] = Counter()
        credit = 0.0
        for line, n in packs.items():
            place, offer = line
            key = (offer.source, offer.part, offer.pack, offer.price)
            sold[key] += n
            if offer.most is not None and sold[key] > offer.most:
                return math.inf
            goods[offer.source, place] += offer.price * offer.pack * n
            at[place] += offer.landed * offer.pack * n
            for part, inside in offer.parts.items():
                surplus = n * offer.pack * inside - used[line, part]
                credit += surplus * self.credits.get((line, part), 0.0)
        for source, place in orders:
            charges = self.choices.charges[source, place]
            value = goods[source, place]
            if charges.minimum_order is not None and value < charges.minimum_order - 1e-9:
                return math.inf
            threshold = charges.free_freight_from
            free = threshold is not None and value >= threshold - 1e-9
            at[place] += charges.handling + (0.0 if free else charges.per_order)
        if not self._keeps_budgets(at, spent):
            return math.inf
        return sum(at.values()) - credit

    def _keeps_budgets(self, at: dict[str, float], spent: dict[str, float]) -> bool:
        if self.choices.budget is not None and sum(at.values()) > self.choices.budget + 1e-9:
            return False
        for boat, limits in self.choices.boats.items():
            on_the_way = sum(
                money for place, money in at.items() if place.startswith(f"{boat} in ")
            )
            at_home = at.get(boat, 0.0) if limits.place == boat else spent.get(boat, 0.0)
            if limits.budget is not None and on_the_way + at_home > limits.budget + 1e-9:
                return False
        return True
