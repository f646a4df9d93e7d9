"""Which boats and stores share what they have, before departure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from stockopt.choices.choices import BoatLimits


def join_harbours(
    limits: Mapping[str, BoatLimits], home_ports: Mapping[str, str]
) -> dict[str, BoatLimits]:
    """Return the boats' limits with the harbour in which each shares spares.

    Boats and stores of one port, and boats that share a store, let each other have what they do
    not need themselves, free of charge (common practice, no source).

    Parameters
    ----------
    limits
        By boat.
    home_ports
        By boat; "" where she has none.

    Returns
    -------
    dict
        By boat. A harbour is named after its first port, or store, in the alphabet; a boat that
        shares with nobody has none.
    """
    anchor: dict[str, str] = {}

    def find(name: str) -> str:
        while anchor.setdefault(name, name) != name:
            name = anchor[name]
        return name

    def join(one: str, other: str) -> None:
        first, second = sorted((find(one), find(other)))
        anchor[second] = first

    # A port and a store may have the same name, and are two things.
    for boat in limits.values():
        join(f"boat {boat.boat}", f"store {boat.place}")
        if home_ports[boat.boat]:
            join(f"boat {boat.boat}", f"port {home_ports[boat.boat]}")
    members: dict[str, list[str]] = defaultdict(list)
    for name in sorted(limits):
        members[find(f"boat {name}")].append(name)
    joined = dict(limits)
    for boats in members.values():
        if len(boats) > 1:
            ports = {home_ports[boat] for boat in boats} - {""}
            name = min(ports or {limits[boat].place for boat in boats})
            joined.update({boat: replace(limits[boat], harbour=name) for boat in boats})
    return joined
