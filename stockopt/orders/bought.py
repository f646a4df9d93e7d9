"""The pieces that a plan buys, port by port."""

from __future__ import annotations

from collections import Counter

from stockopt.fleet.fleet import Fleet
from stockopt.orders.places import find_ports, market_port
from stockopt.plan import Plan


def count_bought(plan: Plan, fleet: Fleet) -> dict[str, dict[str, int]]:
    """Return, by port and part, the pieces bought; sets are taken apart.

    Boats without a home port buy where all sources deliver, if that is one port.
    """
    ports = find_ports(fleet)
    parts = set(fleet.parts["part"])
    bought: dict[str, Counter[str]] = {}
    for line in plan.orders:
        port = market_port(fleet, ports[line.place])
        count = bought.setdefault(port, Counter())
        if line.part in parts:
            count[line.part] += line.pieces
            continue
        held = fleet.kits[fleet.kits["kit"] == line.part]
        for part, quantity in zip(held["part"], held["quantity"], strict=True):
            count[part] += line.pieces * int(quantity)
    return {port: dict(count) for port, count in bought.items()}
