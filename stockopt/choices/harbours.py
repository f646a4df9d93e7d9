"""Which boats and stores share what they have, before departure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from stockopt.choices.choices import BoatLimits
from stockopt.errors import Note

#: Boats that share spares over several places, at most: more are hardly solved as one, and a
#: person would not go round so many lockers either.
MOST_BOATS = 20


def join_harbours(
    limits: Mapping[str, BoatLimits], home_ports: Mapping[str, str], notes: list[Note]
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
    notes
        A port of more than `MOST_BOATS` boats is added here: only those of one store share then.

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
        ports = {home_ports[boat] for boat in boats} - {""}
        places = {limits[boat].place for boat in boats}
        name = min(ports or places)
        crowded = len(boats) > MOST_BOATS and len(places) > 1
        if crowded:
            text = (
                f"{len(boats)} boats could let each other have spares in {name}: for more than "
                f"{MOST_BOATS} that is weighed between boats of one store only"
            )
            notes.append(Note(table="boats", column="home_port", text=text))
        for member in boats if len(boats) > 1 else ():
            place = limits[member].place
            alone = crowded and place == member
            harbour = "" if alone else place if crowded else name
            joined[member] = replace(limits[member], harbour=harbour)
    return joined
