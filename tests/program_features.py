"""Small random choices in which each feature of the program is asked for by name."""

from __future__ import annotations

import itertools
import random
from collections.abc import Set
from datetime import date

from program_builders import make_choice, make_choices, make_offer, make_part

from stockopt.choices.choices import Ahead, BoatPart, Choice, Choices, name_ahead
from stockopt.sourcing import Charges, KitPiece, Offer

FEATURES = (
    "packs",
    "most",
    "minimum order",
    "order charges",
    "free freight",
    "several sources",
    "store stock",
    "on hand",
    "floor",
    "boat budget",
    "fleet budget",
    "kilos",
    "litres",
    "readiness",
    "restock",
    "used with",
    "sets",
    "moves",
    "expiring",
    "ahead",
)
PAIRS = tuple(itertools.combinations(FEATURES, 2))

#: Alba has both parts, Bora one: few enough to try everything.
_PARTS = (("Alba", "impeller"), ("Alba", "gasket"), ("Bora", None))
_PORT = "Horta"


def list_features(number: int) -> frozenset[str]:
    """Return what instance `number` has: pair by pair in turn, and a third of the rest."""
    draw = random.Random(7919 * number + 1)
    return frozenset(PAIRS[number * 67 % len(PAIRS)]) | {
        feature for feature in FEATURES if draw.random() < 0.35
    }


def make_instance(number: int) -> Choices:
    """Return instance `number`, with the features of :func:`list_features`."""
    return _Maker(number, list_features(number)).make()


class _Maker:
    """Draws one instance."""

    def __init__(self, number: int, features: Set[str]) -> None:
        self.draw = random.Random(number)
        self.has = features.__contains__
        self.sources = ["chandler", "mail"] if self.has("several sources") else ["chandler"]
        other = self.draw.choice(["impeller", "gasket"])
        self.keys = [(boat, part or other) for boat, part in _PARTS]

    def make(self) -> Choices:
        draw, has = self.draw, self.has
        places = draw.choice([("store", "store"), ("Alba", "Bora"), ("store", "shed")])
        if has("store stock"):
            places = draw.choice([("store", "store"), ("store", "shed")])
        offers = {part: self._offers(part) for part in ("impeller", "gasket")}
        if has("sets"):
            kit = self._kit()
            offers = {part: [*there, kit] for part, there in offers.items()}
        parts = [self._part(boat, part, offers[part]) for boat, part in self.keys]
        limits = {
            boat: {
                "place": place,
                "kg": draw.randint(2, 9) if has("kilos") else None,
                "litres": draw.randint(2, 9) if has("litres") else None,
                "budget": draw.randint(20, 70) if has("boat budget") else None,
                "harbour": "harbour" if has("moves") else "",
            }
            for boat, place in zip(("Alba", "Bora"), places, strict=True)
        }
        met = [name_ahead(part.boat, ahead.port) for part in parts for ahead in part.ahead]
        return make_choices(
            *parts,
            limits=limits,
            charges={
                (source, place): self._charges()
                for place in sorted({*places, *met})
                for source in ("chandler", "mail")
            },
            stock=self._stock(places) if has("store stock") else {},
            budget=draw.randint(25, 110) if has("fleet budget") else None,
            readiness=draw.choice([0.8, 0.95]) if has("readiness") else None,
        )

    def _stock(self, places: tuple[str, str]) -> dict[tuple[str, str], int]:
        return {
            (place, part): self.draw.randint(0, 2)
            for place in sorted(set(places))
            for part in ("impeller", "gasket")
        }

    def _charges(self) -> Charges:
        draw, has = self.draw, self.has
        costly = has("order charges") or has("free freight")
        return Charges(
            per_order=draw.choice([6.0, 20.0]) if costly else 0.0,
            handling=draw.choice([0.0, 4.0]) if has("order charges") else 0.0,
            free_freight_from=draw.choice([25.0, 45.0]) if has("free freight") else None,
            minimum_order=draw.choice([20.0, 35.0]) if has("minimum order") else None,
        )

    def _offers(self, part: str) -> list[Offer]:
        return [self._offer(part, source) for source in self.sources]

    def _offer(self, part: str, source: str, port: str = "home") -> Offer:
        price = float(self.draw.randint(10, 30))
        return make_offer(
            part,
            price * self.draw.choice([1.0, 1.2]),
            source=source,
            kind="local" if source == "chandler" else "mail",
            price=price,
            port=port,
            pack=self.draw.choice([1, 2, 3]) if self.has("packs") else 1,
            most=self.draw.choice([1, 1, 2]) if self.has("most") else None,
        )

    def _kit(self) -> Offer:
        """Return a set of both parts, cheaper than its pieces mostly; no piece below a leftover."""
        one, two = float(self.draw.randint(6, 20)), float(self.draw.randint(6, 14))
        gaskets = self.draw.choice([1, 2])
        contents = (
            KitPiece(part="gasket", quantity=gaskets, landed=two),
            KitPiece(part="impeller", quantity=1, landed=one),
        )
        landed = gaskets * two + one
        return make_offer(
            "kit", landed, source=self.sources[-1], price=0.9 * landed, contents=contents
        )

    def _part(self, boat: str, part: str, offers: list[Offer]) -> BoatPart:
        draw, has = self.draw, self.has
        on_hand = draw.choice([1, 2, 3]) if has("on hand") or has("moves") else 0
        if has("moves") and draw.random() < 0.5:
            on_hand = 0
        expiring = draw.randint(0, on_hand) if has("expiring") else 0
        floor = draw.choice([0, 1]) if has("floor") else 0
        ahead = ()
        if has("ahead") and (boat, part) == self.keys[0]:
            met = tuple(self._offer(part, source, _PORT) for source in self.sources)
            ahead = (Ahead(port=_PORT, arrives_on=date(2031, 6, 1), offers=met),)
        given = [offer for offer in offers if draw.random() < 0.8] or offers[:1]
        return make_part(
            *self._choices(floor, expiring, ahead=bool(ahead)),
            boat=boat,
            part=part,
            on_hand=on_hand,
            expiring=expiring,
            movable=draw.randint(0, on_hand - expiring) if has("moves") else 0,
            uses=(("gasket", 1),) if has("used with") and part == "impeller" else (),
            ahead=ahead,
            floor=floor,
            kg=float(draw.randint(0, 4)) if has("kilos") else 0.0,
            litres=float(draw.randint(0, 4)) if has("litres") else 0.0,
            stops=has("readiness") and draw.random() < 0.7,
            leftover=draw.choice([0.0, 2.0, 5.0]),
            offers=tuple(sorted(given, key=lambda offer: offer.find_landed(part))),
        )

    def _choices(self, floor: int, expiring: int, *, ahead: bool) -> list[Choice]:
        """Return three choices, each mostly worth having by about what its pieces cost."""
        draw = self.draw
        least = (floor, 0, 0, 0)
        options = [
            (n, f, left, met)
            for n in range(floor, 3)
            for f in range(2)  # twice as likely where it uses up another part
            for _ in range(1 + f * self.has("used with"))
            for left in sorted({0, expiring})
            for met in range(3 if ahead else 1)
        ]
        kept = [least, *draw.sample([option for option in options if option != least], 2)]
        return [
            make_choice(
                n,
                float(draw.randint(-15, 50) + 30 * (4 - n - f - met) - 6 * left),
                replace_now=f,
                restock=self.has("restock") and draw.random() < 0.5,
                shortage_chance=draw.choice([0.0, 0.02, 0.1, 0.3]),
                own_left=left,
                ahead=met,
                ahead_at=_PORT if met else "",
            )
            for n, f, left, met in kept
        ]
