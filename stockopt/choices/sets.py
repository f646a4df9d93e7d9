"""Sets sold under one number, as offers for each of the parts they hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace

import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.fleet.kits import list_contents
from stockopt.sourcing import KitPiece, Offer, list_quotes, list_routes

Sets = Mapping[tuple[str, str], tuple[Offer, ...]]


def list_sets(fleet: Fleet, price: Mapping[str, float], gone: Collection[str] = ()) -> Sets:
    """List the sets that sources quote, by (port, part): for each part that they hold.

    Parameters
    ----------
    fleet
        Its `kits`, `prices`, `sources` and `parts` are read. A set with a row in parts is a part
        like others, and no set here.
    price
        By part: its usual price.
    gone
        Sources that sell nothing.

    Returns
    -------
    Mapping
        Cheapest first, by what one piece of the part costs. A set weighs what it holds; its landed
        cost is shared out over its pieces by their usual prices, or evenly where none is known.
    """
    contents = list_contents(fleet.kits, set(fleet.parts["part"]))
    kg = dict(zip(fleet.parts["part"], fleet.parts["kg"], strict=True))
    masses = pd.DataFrame(
        {
            "part": list(contents),
            "kg": [
                sum(pieces * kg.get(part, 0.0) for part, pieces in held.items())
                for held in contents.values()
            ],
        }
    ).astype({"part": fleet.prices["part"].dtype, "kg": "float64"})
    found: dict[tuple[str, str], list[Offer]] = defaultdict(list)
    for quote in list_quotes(fleet, list_routes(fleet, []), masses):
        if quote.source in gone:
            continue
        offer = replace(quote, contents=_share_out(quote.landed, contents[quote.part], price))
        for part in offer.parts:
            found[offer.port, part].append(offer)
    return {(port, part): _sort(there, part) for (port, part), there in sorted(found.items())}


def _sort(offers: list[Offer], part: str) -> tuple[Offer, ...]:
    return tuple(
        sorted(offers, key=lambda o: (o.find_landed(part), o.late_days, o.source, o.part, o.pack))
    )


def _share_out(
    landed: float, held: Mapping[str, int], price: Mapping[str, float]
) -> tuple[KitPiece, ...]:
    """Share the landed cost of a set out over the pieces that it holds."""
    usual = {part: price.get(part, 0.0) for part in held}
    if not any(usual.values()):
        usual = dict.fromkeys(held, 1.0)
    total = sum(pieces * usual[part] for part, pieces in held.items())
    return tuple(
        KitPiece(part=part, quantity=pieces, landed=landed * usual[part] / total)
        for part, pieces in sorted(held.items())
    )
