"""Small choices for the program and the plan, and an exhaustive search over them."""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from types import SimpleNamespace
from typing import Any

from stockopt.choices.choices import BoatLimits, BoatPart, Choice, Choices
from stockopt.plan import Plan, make_plan
from stockopt.program.solution import Solution
from stockopt.sourcing import Charges, Offer

DEPARTS_ON = date(2031, 5, 1)
FREE = Charges(per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None)


def make_choice(
    carry: int = 0, later_cost: float = 0.0, *, replace_now: int = 0, **more: Any
) -> Choice:
    given = {
        "restock": False,
        "shortage_chance": 0.0,
        "expected_shortages": 0.0,
        "expected_need": 0.0,
        "restock_cost": 0.0,
        **more,
    }
    return Choice(carry=carry, replace_now=replace_now, later_cost=later_cost, **given)


def make_offer(part: str = "seal", landed: float = 10.0, **more: Any) -> Offer:
    given = {
        "source": "chandler",
        "kind": "local",
        "port": "home",
        "price": landed,
        "pack": 1,
        "most": None,
        "lead_days": 1.0,
        "late_days": 2.5,
        **more,
    }
    return Offer(part=part, landed=landed, **given)


def make_part(*choices: Choice, **more: Any) -> BoatPart:
    part = more.get("part", "seal")
    given = {
        "boat": "Alba",
        "part": part,
        "name": part.capitalize(),
        "on_hand": 0,
        "floor": 0,
        "kg": 0.0,
        "litres": 0.0,
        "stops": False,
        "leftover": 1.0,
        "offers": (make_offer(part),),
        **more,
    }
    return BoatPart(choices=choices, **given)


def make_choices(
    *parts: BoatPart,
    limits: Mapping[str, Mapping[str, Any]] | None = None,
    charges: Mapping[tuple[str, str], Charges] | None = None,
    **more: Any,
) -> Choices:
    """Return choices in which every boat is limited as in `limits`, and delivered to alone."""
    boats = {}
    for boat in sorted({part.boat for part in parts} | set(limits or {})):
        given = {
            "place": boat,
            "departs_on": DEPARTS_ON,
            "kg": None,
            "litres": None,
            "budget": None,
            **(limits or {}).get(boat, {}),
        }
        boats[boat] = BoatLimits(boat=boat, **given)
    orders = {
        (offer.source, boats[part.boat].place): FREE for part in parts for offer in part.offers
    }
    given = {"stock": {}, "budget": None, "readiness": None, "notes": (), **more}
    return Choices(boats=boats, parts=parts, charges={**orders, **(charges or {})}, **given)


def plan_of(solution: Solution, choices: Choices) -> Plan:
    settings = SimpleNamespace(planned_on=date(2031, 4, 1), currency="EUR")
    fleet: Any = SimpleNamespace(name="test", settings=settings, notes=())
    return make_plan(solution, choices, fleet)


# --- random instances -------------------------------------------------------------------------


def random_choices(seed: int) -> Choices:
    """Return a small random instance; each complication is there in a good share of the seeds."""
    draw = random.Random(seed)
    shared = draw.random() < 0.7
    boats = ["Alba", "Bora"][: draw.choice([1, 2, 2])]
    names = ["seal", "belt"][: draw.choice([1, 2]) if len(boats) == 2 else 2]
    sources = ["chandler", "mail"][: draw.choice([1, 2, 2])]
    few = len(boats) * len(names) > 2
    offers = {name: _random_offers(draw, name, sources)[: 2 if few else 4] for name in names}
    parts = [_random_part(draw, boat, name, offers[name]) for boat in boats for name in names]
    places = ["store"] if shared else boats
    limits = {
        boat: {
            "place": "store" if shared else boat,
            "kg": draw.choice([None, draw.randint(1, 9)]),
            "litres": draw.choice([None, None, draw.randint(1, 9)]),
            "budget": draw.choice([None, draw.randint(15, 60)]),
        }
        for boat in boats
    }
    charges = {
        (source, place): Charges(
            per_order=draw.choice([0.0, 8.0, 25.0]),
            handling=draw.choice([0.0, 4.0]),
            free_freight_from=draw.choice([None, 30.0, 60.0]),
            minimum_order=draw.choice([None, None, 25.0, 45.0]),
        )
        for source in sources
        for place in places
    }
    stock = {("store", name): draw.randint(0, 3) for name in names} if shared else {}
    return make_choices(
        *parts,
        limits=limits,
        charges=charges,
        stock=stock,
        budget=draw.choice([None, draw.randint(20, 100)]),
        readiness=draw.choice([None, None, 0.8, 0.95]),
    )


def _random_offers(draw: random.Random, part: str, sources: list[str]) -> list[Offer]:
    offers = []
    for source in sources:
        for pack in draw.choice([(1,), (1,), (2,), (3,), (1, 3)]):
            price = float(draw.randint(8, 30))
            offers.append(
                make_offer(
                    part,
                    price * draw.choice([1.0, 1.2]),
                    source=source,
                    kind="local" if source == "chandler" else "mail",
                    price=price,
                    pack=pack,
                    most=draw.choice([None, None, 1, 2]),
                )
            )
    return offers


def _random_part(draw: random.Random, boat: str, name: str, offers: list[Offer]) -> BoatPart:
    floor = draw.choice([0, 0, 0, 1])
    options = [(n, f) for n in range(floor, 3) for f in range(2)]
    kept = draw.sample(options, draw.choice([2, 3]))
    if draw.random() < 0.8 and (floor, 0) not in kept:
        kept[0] = (floor, 0)
    choices = [
        make_choice(
            n,
            # Mostly worth having, by about what a piece costs.
            float(draw.randint(-20, 60) + 40 * (3 - n - f)),
            replace_now=f,
            shortage_chance=draw.choice([0.0, 0.02, 0.1, 0.3, 1.0]),
        )
        for n, f in kept
    ]
    return make_part(
        *choices,
        boat=boat,
        part=name,
        on_hand=draw.choice([0, 0, 1]),
        floor=floor,
        kg=float(draw.randint(0, 4)),
        litres=float(draw.randint(0, 4)),
        stops=draw.random() < 0.5,
        leftover=draw.choice([0.0, 2.0, 5.0]),
        offers=tuple(
            draw.sample(offers, draw.randint(0 if draw.random() < 0.1 else 1, len(offers)))
        ),
    )


# --- exhaustive search ------------------------------------------------------------------------

Source = Offer | str  # an offer, "own" or "stock"


def least_cost(choices: Choices) -> float:
    """Return the least cost by trying everything; infinity where no plan keeps the limits.

    Every choice of every boat's part, every way to split its pieces over her own stock, the
    store's stock and her offers, and every number of extra packs that could reach a minimum or
    free freight. Written from the rules alone; it shares nothing with the program.
    """
    ways = [list(_ways_for_part(part, choices)) for part in choices.parts]
    best = math.inf
    for taken in itertools.product(*ways):
        if _keeps_boat_limits(taken, choices):
            best = min(best, _cheapest_orders(taken, choices, best))
    return best


def _ways_for_part(
    part: BoatPart, choices: Choices
) -> Iterator[tuple[BoatPart, Choice, Counter[Source]]]:
    store = choices.stock.get((choices.boats[part.boat].place, part.part), 0)
    there: list[Source] = ["own", "stock", *part.offers]
    for choice in part.choices:
        total = choice.carry + choice.replace_now
        for split in itertools.product(range(total + 1), repeat=len(there)):
            if sum(split) == total and split[0] <= part.on_hand and split[1] <= store:
                yield part, choice, Counter(dict(zip(there, split, strict=True)))


def _keeps_boat_limits(taken: Any, choices: Choices) -> bool:
    kg: dict[str, float] = defaultdict(float)
    litres: dict[str, float] = defaultdict(float)
    safe: dict[str, float] = defaultdict(lambda: 1.0)
    drawn: Counter[tuple[str, str]] = Counter()
    spent: dict[str, float] = defaultdict(float)
    for part, choice, split in taken:
        kg[part.boat] += part.kg * choice.carry
        litres[part.boat] += part.litres * choice.carry
        if part.stops:
            safe[part.boat] *= 1.0 - choice.shortage_chance
        drawn[choices.boats[part.boat].place, part.part] += split["stock"]
        for offer in part.offers:
            spent[part.boat] += offer.landed * split[offer]
    for boat, limits in choices.boats.items():
        if limits.kg is not None and kg[boat] > limits.kg + 1e-9:
            return False
        if limits.litres is not None and litres[boat] > limits.litres + 1e-9:
            return False
        if choices.readiness is not None and safe[boat] < choices.readiness - 1e-9:
            return False
        if limits.budget is not None and spent[boat] > limits.budget + 1e-9:
            return False
    return all(n <= choices.stock.get(key, 0) for key, n in drawn.items())


def _cheapest_orders(taken: Any, choices: Choices, best: float) -> float:
    used: Counter[tuple[str, Offer]] = Counter()
    fixed = 0.0
    for part, choice, split in taken:
        fixed += choice.later_cost + part.leftover * split["stock"]
        for offer in part.offers:
            if split[offer]:
                used[choices.boats[part.boat].place, offer] += split[offer]
    if fixed + sum(offer.landed * n for (_, offer), n in used.items()) >= best:
        return math.inf
    orders = {(offer.source, place) for place, offer in used}
    lines = sorted(
        {
            (choices.boats[part.boat].place, offer)
            for part in choices.parts
            for offer in part.offers
            if (offer.source, choices.boats[part.boat].place) in orders
        },
        key=lambda line: (line[0], line[1].source, line[1].part, line[1].pack),
    )
    least = [math.ceil(used[line] / line[1].pack) for line in lines]
    cheapest = math.inf
    for extra in itertools.product(*(_extra_packs(line, choices) for line in lines)):
        packs = {line: n + e for line, n, e in zip(lines, least, extra, strict=True)}
        cheapest = min(cheapest, fixed + _cost_of_orders(packs, used, orders, choices))
    return cheapest


def _extra_packs(line: tuple[str, Offer], choices: Choices) -> range:
    place, offer = line
    charges = choices.charges[offer.source, place]
    thresholds = [charges.minimum_order or 0.0]
    if charges.per_order > 0.0:
        thresholds.append(charges.free_freight_from or 0.0)
    return range(math.ceil(max(thresholds) / (offer.price * offer.pack)) + 1)


def _cost_of_orders(
    packs: Mapping[tuple[str, Offer], int],
    used: Mapping[tuple[str, Offer], int],
    orders: set[tuple[str, str]],
    choices: Choices,
) -> float:
    goods: dict[tuple[str, str], float] = defaultdict(float)
    at: dict[str, float] = defaultdict(float)
    credit = 0.0
    sold: Counter[tuple[str, str, int]] = Counter()
    for (place, offer), n in packs.items():
        sold[offer.source, offer.part, offer.pack] += n
        if offer.most is not None and sold[offer.source, offer.part, offer.pack] > offer.most:
            return math.inf
        goods[offer.source, place] += offer.price * n * offer.pack
        at[place] += offer.landed * n * offer.pack
        leftovers = [
            part.leftover
            for part in choices.parts
            if offer in part.offers and choices.boats[part.boat].place == place
        ]
        credit += min(leftovers) * (n * offer.pack - used.get((place, offer), 0))
    for source, place in orders:
        charges = choices.charges[source, place]
        value = goods[source, place]
        if charges.minimum_order is not None and value < charges.minimum_order - 1e-9:
            return math.inf
        free = charges.free_freight_from is not None and value >= charges.free_freight_from - 1e-9
        at[place] += charges.handling + (0.0 if free else charges.per_order)
    for boat, limits in choices.boats.items():
        budget = limits.budget if limits.place == boat else None
        if budget is not None and at[boat] > budget + 1e-9:
            return math.inf
    if choices.budget is not None and sum(at.values()) > choices.budget + 1e-9:
        return math.inf
    return sum(at.values()) - credit
