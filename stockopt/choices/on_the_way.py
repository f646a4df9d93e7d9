"""Where spares are made up on the way, and what they cost there beside home."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stockopt.choices.choices import Stop
from stockopt.choices.excess import Floats
from stockopt.demand.demand import Stretch
from stockopt.sourcing import Offers


def list_stops(
    stretches: Sequence[Stretch], part: str, prices: Floats, home_port: str, offers: Offers
) -> tuple[Stop, ...]:
    """List the ports where a part's spares are made up, each once, in the order of the legs.

    Parameters
    ----------
    stretches, part
        Of one boat.
    prices
        (S,): of one piece where each stretch ends, NaN where it is not to be had.
    home_port
        Where she is fitted out.
    offers
        What parts cost, where.

    Returns
    -------
    tuple of Stop
        The end of the last stretch is none: nothing is made up there. The premium is on the
        cheapest landed cost at home, else on the usual price; 0 where neither is known.
    """
    at_home = offers.offers.get((home_port, part), ())
    usual = at_home[0].landed if at_home else offers.price.get(part, 0.0)
    stops: dict[str, Stop] = {}
    for stretch, price in zip(stretches[:-1], prices[:-1].tolist(), strict=True):
        port = stretch.legs[-1].to_port
        if math.isnan(price) or port in stops:
            continue
        there = offers.at_port.get((port, part))
        stops[port] = Stop(
            port=port,
            price=price,
            quoted=port == home_port or (there is not None and there.quoted),
            premium=price / usual - 1.0 if usual > 0.0 else 0.0,
        )
    return tuple(stops.values())
