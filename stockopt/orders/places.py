"""Where orders of a place are delivered to."""

from __future__ import annotations

from collections.abc import Mapping

from stockopt.choices.choices import name_ahead
from stockopt.fleet.fleet import Fleet


def find_ports(fleet: Fleet) -> Mapping[str, str]:
    """Return by place the port that its orders go to.

    A store's or boat's orders go to the home port of its boats with legs to come, the first by
    name where they have several; those that meet a boat on her way, to that port.
    """
    ports: dict[str, str] = {}
    boats = fleet.boats[fleet.boats["boat"].isin(fleet.legs["boat"])]
    for boat, store, port in zip(boats["boat"], boats["store"], boats["home_port"], strict=True):
        place = store or boat
        ports[place] = min(port, ports.get(place, port))
    met = set(zip(fleet.legs["boat"], fleet.legs["to_port"], strict=True))
    return {**ports, **{name_ahead(boat, port): port for boat, port in sorted(met)}}


def market_port(fleet: Fleet, port: str) -> str:
    """Return the port whose market serves a port: itself, or the only one there is for none."""
    served = set(fleet.sources["delivers_to"])
    return next(iter(served)) if port == "" and len(served) == 1 else port
