"""Choices of realistic size, drawn at random from invented magnitudes."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from datetime import date

from program_builders import make_choice, make_choices, make_offer, make_part

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.sourcing import Charges, Offer

# source, price factor, price factor's spread, days late, order charges
_SOURCES = {
    "chandler": (
        1.7,
        0.3,
        1.0,
        Charges(per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None),
    ),
    "mail": (
        1.0,
        0.05,
        7.0,
        Charges(per_order=40.0, handling=30.0, free_freight_from=900.0, minimum_order=150.0),
    ),
    "abroad": (
        0.85,
        0.1,
        12.0,
        Charges(per_order=90.0, handling=60.0, free_freight_from=1500.0, minimum_order=None),
    ),
}


@dataclass(frozen=True)
class _Kind:
    """What one part is like on every boat."""

    name: str
    price: float
    kg: float
    share: float
    offers: tuple[Offer, ...]


def make_market(
    boats: int,
    parts: int,
    *,
    seed: int = 0,
    shared: bool = True,
    load: float = 1.0,
    readiness: float | None = 0.5,
    budget: float = 0.6,
) -> Choices:
    """Return choices for a fleet with carry 0-5, replace 0-2, three sources, some packs of 2-12.

    `load` and `budget` are shares of the weight and price of one of each part.
    """
    draw = random.Random(seed)
    kinds = [_draw_kind(draw, f"P{number:03d}") for number in range(parts)]
    names = [f"B{number:03d}" for number in range(boats)]
    one_of_each = sum(kind.kg for kind in kinds)
    limits = {
        name: {
            "place": "base" if shared else name,
            "departs_on": date(2031, 4, 20 + number % 7),
            "kg": load * one_of_each,
            "litres": 1.7 * load * one_of_each,
        }
        for number, name in enumerate(names)
    }
    rows = [
        _draw_part(draw, name, kind, day_cost=day_cost)
        for name in names
        for day_cost in (draw.uniform(300.0, 1200.0),)
        for kind in kinds
    ]
    places = ["base"] if shared else names
    stock = {
        ("base", kind.name): draw.randint(1, 6) for kind in kinds if shared and draw.random() < 0.3
    }
    return make_choices(
        *rows,
        limits=limits,
        charges={(source, at): _SOURCES[source][3] for source in _SOURCES for at in places},
        stock=stock,
        budget=budget * boats * sum(kind.price for kind in kinds),
        readiness=readiness,
    )


def _draw_kind(draw: random.Random, name: str) -> _Kind:
    packed = draw.random() < 0.2
    price = math.exp(draw.gauss(2.3, 0.6) if packed else draw.gauss(3.8, 1.0))
    kg = price / 60.0 * math.exp(draw.gauss(0.0, 0.5))
    offers = []
    for source, (factor, spread, late_days, _) in _SOURCES.items():
        if source != "chandler" and draw.random() < 0.2:
            continue
        asked = round(price * factor * draw.uniform(1.0 - spread, 1.0 + spread), 2)
        abroad = source != "chandler"
        offers.append(
            make_offer(
                name,
                asked * (1.2 if abroad else 1.0) + (4.0 * kg if abroad else 0.0),
                source=source,
                kind="mail" if abroad else "local",
                price=asked,
                pack=draw.choice([2, 4, 6, 10, 12]) if packed and abroad else 1,
                most=draw.randint(1, 6) if draw.random() < 0.1 else None,
                lead_days=0.7 * late_days,
                late_days=late_days,
            )
        )
    offers.sort(key=lambda offer: offer.landed)
    share = draw.choice([1.0, 0.3, 0.05])
    return _Kind(name=name, price=price, kg=kg, share=share, offers=tuple(offers))


def _draw_part(draw: random.Random, boat: str, kind: _Kind, *, day_cost: float) -> BoatPart:
    mean = math.exp(draw.gauss(-1.0, 1.0))
    shortage_cost = 2.0 * kind.price + day_cost * kind.share * draw.uniform(1.0, 7.0)
    leftover = 0.3 * min(offer.landed for offer in kind.offers)
    choices = []
    for replaced in range(3):
        needed = mean * (1.0 - 0.25 * replaced)
        running = 0.15 * needed * day_cost * kind.share + replaced * (25.0 + 0.3 * kind.price)
        for carried in range(6):
            short, chance = _find_shortage(needed, carried)
            later = running + short * shortage_cost - leftover * max(0.0, carried - needed)
            choices.append(
                make_choice(
                    carried,
                    later,
                    replace_now=replaced,
                    shortage_chance=chance,
                    expected_shortages=short,
                    expected_need=needed,
                )
            )
    return make_part(
        *(choice for choice in choices if not _is_beaten(choice, choices)),
        boat=boat,
        part=kind.name,
        on_hand=draw.choice([0, 0, 0, 1, 2]),
        kg=kind.kg,
        litres=1.5 * kind.kg,
        stops=kind.share == 1.0,
        leftover=leftover,
        offers=kind.offers,
    )


def _find_shortage(mean: float, carried: int) -> tuple[float, float]:
    """Return pieces short on average, and the chance of any, where need is Poisson."""
    chances = [math.exp(-mean)]
    for n in range(1, 60):
        chances.append(chances[-1] * mean / n)
    short = sum((n - carried) * chances[n] for n in range(carried + 1, 60))
    return short, sum(chances[carried + 1 :])


def _is_beaten(choice: Choice, choices: list[Choice]) -> bool:
    return any(
        other is not choice
        and other.carry <= choice.carry
        and other.pieces <= choice.pieces
        and other.later_cost <= choice.later_cost
        and other.shortage_chance <= choice.shortage_chance
        for other in choices
    )
