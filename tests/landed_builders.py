"""Markets made by hand for the comparison of local shops with mail order."""

from builders import make_fleet

from stockopt.demand.demand import Demand
from stockopt.landed.compare import compare_sources

NOTHING_NEEDED = Demand(parts={}, notes=())
LEG = {"boat": "Alba", "departs_on": "2031-05-01", "days": 7, "to_port": "Porto"}


def make_market_fleet(*, sources, prices, parts, ports=(), kits=(), settings=None):
    """Return a fleet of one boat at home in Porto; every source delivers there unless it says."""
    return make_fleet(
        settings=settings,
        boats=[{"boat": "Alba", "home_port": "Porto", "day_cost": 500}],
        parts=parts,
        sources=[{"delivers_to": "Porto", **source} for source in sources],
        prices=prices,
        ports=ports,
        kits=kits,
        legs=[LEG],
    )


def compare(fleet, pieces, demand=NOTHING_NEEDED):
    """Return the comparison at Porto for a basket of given pieces."""
    (port,) = compare_sources(demand, fleet, ["Porto"], {"Porto": pieces}).ports
    return port


def part_of(port, part):
    return next(one for one in port.parts if one.part == part)


def source_of(port, part, source):
    return next(one for one in part_of(port, part).sources if one.source == source)


def way_of(port, name):
    return next(way for way in port.ways if way.name == name)
