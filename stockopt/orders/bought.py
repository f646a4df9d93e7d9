"""The pieces that a plan buys, port by port."""

from __future__ import annotations

from collections import Counter

from stockopt.fleet.fleet import Fleet
from stockopt.fleet.kits import list_contents
from stockopt.orders.places import find_ports, market_port
from stockopt.plan import Plan


def count_bought(plan: Plan, fleet: Fleet) -> dict[str, dict[str, int]]:
    """Return, by port and part, the pieces bought; sets are taken apart.

    Boats without a home port buy where all sources deliver, if that is one port.
    """
    ports = find_ports(fleet)
    contents = list_contents(fleet.kits, set(fleet.parts["part"]))
    bought: dict[str, Counter[str]] = {}
    for line in plan.orders:
        port = market_port(fleet, ports[line.place])
        count = bought.setdefault(port, Counter())
        for part, pieces in contents.get(line.part, {line.part: 1}).items():
            count[part] += line.pieces * pieces
    return {port: dict(count) for port, count in bought.items()}
