"""Local against mail order is the same in whatever order the rows stand."""

import random

import pytest
from landed_builders import NOTHING_NEEDED, make_market_fleet

from stockopt.landed.compare import compare_sources


def tables(seed):
    draw = random.Random(seed)
    parts = [{"part": f"P{n}", "kg": draw.choice([0.1, 0.35, 2])} for n in range(6)]
    sources = [{"source": "Quay", "kind": "local"}] + [
        {"source": name, "kind": "mail", "lead_days": 9, "per_order": 20, "handling": 33}
        | {"per_kg": 3.3, "duty": draw.choice([0, 0.04]), "tax": 0.12}
        for name in ("Far", "Post")
    ]
    prices = [
        {"source": source["source"], "part": part["part"], "pack": pack}
        | {"price": round(draw.uniform(5, 60) * pack * (3 if source["kind"] == "local" else 1), 2)}
        for source in sources
        for part in parts
        for pack in draw.choice([(1,), (1, 5)])
    ]
    return draw, parts, sources, prices


@pytest.mark.parametrize("seed", range(3))
def test_rows_in_any_order(seed):
    draw, parts, sources, prices = tables(seed)
    pieces = {"Porto": {part["part"]: draw.randint(1, 9) for part in parts}}

    def compare():
        fleet = make_market_fleet(parts=parts, sources=sources, prices=prices)
        return compare_sources(NOTHING_NEEDED, fleet, ["Porto"], pieces)

    first = compare()
    for rows in (parts, sources, prices):
        draw.shuffle(rows)
    assert compare() == first
