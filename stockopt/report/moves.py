"""What else happens to the spares of a carry line: moved, used up, met on the way, made up."""

from __future__ import annotations

from dataclasses import replace

from stockopt.plan import CarryLine, OrderLine
from stockopt.report.plain_numbers import Keys, money, number
from stockopt.report.sheet import Column, Row, Table
from stockopt.report.words import pieces_text

#: Spread over the 13 columns of a stow list.
MET_COLUMNS = (
    Column(title="Stowed in", width=20, kind="blank", span=2),
    Column(title="Part", width=12),
    Column(title="Name", width=34, kind="prose"),
    Column(title="Pieces", width=7, kind="whole"),
    Column(title="In", width=21, kind="prose", span=3),
    Column(title="There on", width=15, kind="date", span=2),
    Column(title="Order by", width=19, kind="date", span=2),
    Column(title="Got", width=9, kind="blank"),
)
STOP_COLUMNS = (
    Column(title="In", width=20, kind="prose", span=2),
    Column(title="Part", width=12),
    Column(title="Name", width=34, kind="prose"),
    Column(title="Up to", width=7, kind="whole"),
    Column(title="Price each", width=14, kind="money", span=2),
    Column(title="Times the price at home", width=14, kind="number", span=2),
    Column(title="Price is", width=15, span=2),
    Column(title="Bought", width=20, kind="blank", span=2),
)


def move_keys(line: CarryLine) -> Keys:
    """Return what a carry line says beside its counts, as keys and plain values."""
    return {
        "used_up": int(line.used_up),
        "given": int(line.given),
        "moved_from": [
            {"place": place, "pieces": int(pieces)} for place, pieces in line.moved_from
        ],
        "own_left": int(line.own_left),
        "ahead": int(line.ahead),
        "ahead_at": line.ahead_at,
        "ahead_on": None if line.ahead_on is None else line.ahead_on.isoformat(),
        "restock_at": [
            {
                "port": stop.port,
                "price": money(stop.price),
                "quoted": bool(stop.quoted),
                "premium": number(stop.premium),
            }
            for stop in line.restock_at
        ],
    }


def tell_moves(line: CarryLine, place: str) -> CarryLine:
    """Return the line with a few words beside its name on what her own stock does not show.

    Parameters
    ----------
    line
        Of one part on one boat.
    place
        Where orders for her are delivered: her store.
    """
    words = [f"{n} from {origin}" for origin, n in line.moved_from if origin != place]
    if line.used_up:
        words.append(f"{line.used_up} used up with another change")
    if line.given:
        words.append(f"{line.given} for another boat or a store")
    if line.own_left:
        words.append(f"leave ashore {pieces_text(line.own_left)} that will be out of date")
    if line.ahead:
        words.append(f"mass counts the {line.ahead} that meet her in {line.ahead_at}")
    return replace(line, name="; ".join((line.name, *words)))


def way_tables(
    lines: list[CarryLine], orders: tuple[OrderLine, ...], currency: str
) -> tuple[Table, ...]:
    """Return the tables of what meets a boat on her way, and of what is made up where."""
    by = {(order.place, order.part): order.order_by for order in orders}
    met = tuple(
        Row(
            cells=(
                None,
                line.part,
                line.name,
                line.ahead,
                line.ahead_at,
                line.ahead_on,
                by.get((f"{line.boat} in {line.ahead_at}", line.part)),
                None,
            )
        )
        for line in lines
        if line.ahead
    )
    stops = tuple(
        Row(
            cells=(
                stop.port,
                line.part,
                line.name,
                line.carry,
                stop.price,
                1.0 + stop.premium,
                "quoted" if stop.quoted else "estimated",
                None,
            )
        )
        for port in _ports_on_the_way(lines)
        for line in lines
        for stop in line.restock_at
        if stop.port == port
    )
    tables = []
    if met:
        lead = "Ordered for her to a port on her way; stow it there."
        tables.append(Table(heading="To meet her", lead=(lead,), columns=MET_COLUMNS, rows=met))
    if stops:
        lead = (
            f"What was used by then is bought again there, up to so many; prices in {currency}. "
            "Estimated: nobody's price there is known."
        )
        tables.append(
            Table(heading="To make up on the way", lead=(lead,), columns=STOP_COLUMNS, rows=stops)
        )
    return tuple(tables)


def _ports_on_the_way(lines: list[CarryLine]) -> list[str]:
    """Return the ports where anything is made up, those of the longest lists in their order."""
    longest_first = sorted(lines, key=lambda line: -len(line.restock_at))
    return list(dict.fromkeys(stop.port for line in longest_first for stop in line.restock_at))
