"""Sheets "Local or mail order" and "Landed cost"."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from stockopt.landed.landed import (
    SPLIT,
    BreakEven,
    FromSource,
    Landed,
    Order,
    PartCompared,
    PortCompared,
    SetCompared,
    SetWay,
    Way,
)
from stockopt.report.landed_words import (
    ASSUMED,
    CHARGES,
    PAYS_FROM,
    ROUNDING,
    SETS,
    WAITING,
    awaited_word,
    basket_words,
    break_even_words,
    customs_words,
    kind_word,
    packs_text,
    pieces_list,
    set_words,
    split_words,
)
from stockopt.report.sheet import Cell, Chart, Column, Row, Sheet, Table, plain_rows

MARK = " (assumed)"


def landed_sheets(landed: Landed, currency: str) -> list[Sheet]:
    """Return one sheet of the comparison for each port, and one of every part and source."""
    if not landed.ports:
        return []
    several = len(landed.ports) > 1
    return [
        *(
            _port_sheet(landed, port, currency, several=several)
            for port in landed.ports
            if port.parts
        ),
        _every_source_sheet(landed, currency),
    ]


def _port_sheet(landed: Landed, port: PortCompared, currency: str, *, several: bool) -> Sheet:
    return Sheet(
        name=f"Local or mail order{f', {port.port}' if several else ''}",
        title=f"Local or mail order, at {port.port}",
        lead=(basket_words(landed, port), split_words(port, currency)),
        tables=(
            _ways(port, currency),
            *(
                _break_even(one, currency, new_page=number % 2 == 0)
                for number, one in enumerate(port.break_even)
            ),
            _parts(port, currency),
            *((_sets(port, currency),) if port.sets else ()),
        ),
        after=tuple(
            filter(
                None,
                (
                    f"Nobody sells there: {', '.join(port.no_offer)}." if port.no_offer else "",
                    f"{MARK.strip()}: {ASSUMED}" if _any_assumed(port) else "",
                    ROUNDING,
                    customs_words(port),
                ),
            )
        ),
    )


def _any_assumed(port: PortCompared) -> bool:
    return any(source.assumed for one in port.parts for source in one.sources)


def _ways(port: PortCompared, currency: str) -> Table:
    rows = [_way_row(way) for way in port.ways]
    for way in port.ways:
        if way.name == SPLIT:
            rows.append(Row(cells=(f"{way.name}, order by order",), look="group"))
            rows += [_order_row(order) for order in way.orders]
    return Table(
        heading=f"The whole basket, {currency}",
        columns=(
            Column(title="Way", width=14),
            Column(title="From whom", width=34, kind="prose"),
            Column(title="Goods", width=11, kind="money"),
            Column(title="Freight by mass", width=11, kind="money"),
            Column(title="Duty", width=11, kind="money"),
            Column(title="Tax", width=11, kind="money"),
            Column(title="Freight, once an order", width=11, kind="money"),
            Column(title="Handling, once an order", width=11, kind="money"),
            Column(title="Total", width=12, kind="money"),
            Column(title="Pieces", width=12, kind="whole"),
        ),
        rows=tuple(rows),
        chart=Chart(
            title=f"What the basket costs, {currency}",
            across="",
            up=currency,
            kind="stacked",
            labels=1,
            values=(3, 4, 5, 6, 7, 8),
            rows=len(port.ways),
        ),
    )


def _way_row(way: Way) -> Row:
    names = ", ".join(order.source for order in way.orders)
    lacking = f"; {', '.join(way.elsewhere)} from elsewhere" if way.elsewhere else ""
    return Row(cells=(way.name, names + lacking, *_money_cells(way.orders)))


def _order_row(order: Order) -> Row:
    parts = len({part for line in order.lines for part in line.quote.brings})
    return Row(cells=("", f"{order.source}, parts: {parts}", *_money_cells((order,))))


def _money_cells(orders: tuple[Order, ...]) -> tuple[Cell, ...]:
    money = [order.money for order in orders]
    columns = (
        (one.goods for one in money),
        (one.freight for one in money),
        (one.duty for one in money),
        (one.tax for one in money),
        (order.freight for order in orders),
        (order.handling for order in orders),
        (order.total for order in orders),
    )
    pieces = sum(line.parts for order in orders for line in order.lines)
    return (*(float(sum(column, Decimal(0))) for column in columns), pieces)


def _break_even(one: BreakEven, currency: str, *, new_page: bool) -> Table:
    return Table(
        new_page=new_page,
        heading=f"From how much on an order to {one.source} pays",
        lead=(break_even_words(one, currency),),
        columns=(
            Column(title="Pieces of that mix", width=14, kind="whole"),
            Column(title=f"Goods there, {currency}", width=34, kind="money"),
            Column(title="Locally", width=11, kind="money"),
            Column(title="By mail, charges paid", width=11, kind="money"),
        ),
        rows=plain_rows(
            (point.pieces, float(point.goods), float(point.local), float(point.mail))
            for point in one.curve
        ),
        chart=Chart(
            title=f"Locally or from {one.source}, {currency}",
            across="pieces of the mix",
            up=currency,
            kind="lines",
            labels=1,
            values=(3, 4),
            beside=5,
        ),
    )


def _parts(port: PortCompared, currency: str) -> Table:
    return Table(
        heading=f"Part by part, landed, {currency}",
        lead=(CHARGES, PAYS_FROM, WAITING),
        new_page=True,
        columns=(
            Column(title="Part", width=14),
            Column(title="Name", width=34, kind="prose"),
            Column(title="Pieces", width=11, kind="whole"),
            Column(title="Locally", width=11, kind="money"),
            Column(title="By mail", width=11, kind="money"),
            Column(title="By mail saves", width=11, kind="money"),
            Column(title="Pays from, pieces", width=11, kind="whole"),
            Column(title="When a boat waits", width=11),
            Column(title="Local from; mail from", width=46, kind="prose", span=2),
        ),
        rows=plain_rows(_part_row(one) for one in port.parts),
    )


def _part_row(one: PartCompared) -> tuple[Cell, ...]:
    local, mail = one.best("local"), one.best("mail")
    saves = None if local is None or mail is None else float(local.landed - mail.landed)
    names = [
        "-" if source is None else source.source + (MARK if source.assumed else "")
        for source in (local, mail)
    ]
    return (
        one.part,
        one.name,
        one.wanted.pieces,
        None if local is None else float(local.landed),
        None if mail is None else float(mail.landed),
        saves,
        one.pays_from,
        awaited_word(one),
        "; ".join(names),
    )


def _sets(port: PortCompared, currency: str) -> Table:
    """Return each set by itself, then what it takes to get each of its parts with it."""
    return Table(
        heading=f"Sets beside their parts bought one by one, landed, {currency}",
        lead=(SETS,),
        columns=(
            Column(title="Set, or a part in it", width=14),
            Column(title="What, and from whom", width=34, kind="prose"),
            Column(title="Packs", width=11, kind="whole"),
            Column(title="The set", width=11, kind="money"),
            Column(title="One by one", width=11, kind="money"),
            Column(title="The set saves", width=11, kind="money"),
            Column(title="Packs in the split", width=11, kind="whole"),
            Column(title="Kind", width=11),
            Column(title="Of use to the basket; left over", width=46, kind="prose", span=2),
        ),
        rows=plain_rows(row for one in port.sets for row in _set_rows(one)),
    )


def _set_rows(one: SetCompared) -> Iterator[tuple[Cell, ...]]:
    quote = one.quote
    yield _set_row(quote.part, f"{quote.source}: {set_words(one)}", one, one.one, one.in_split)
    for part, way in one.ways:
        yield _set_row(part, f"as many as the basket wants, in {quote.part}", one, way, None)


def _set_row(
    number: str, words: str, one: SetCompared, way: SetWay, in_split: int | None
) -> tuple[Cell, ...]:
    return (
        number,
        words,
        way.packs,
        float(way.money.landed),
        None if way.one_by_one is None else float(way.one_by_one),
        None if way.saves is None else float(way.saves),
        in_split,
        kind_word(one.quote),
        f"{pieces_list(way.useful)}; {pieces_list(way.left) or 'nothing'}",
    )


def _every_source_sheet(landed: Landed, currency: str) -> Sheet:
    return Sheet(
        name="Landed cost",
        title=f"Landed cost of every part from every source, {currency}",
        lead=(
            "Goods = packs x price; freight by mass; duty on both, or on the goods alone; tax on "
            "all three; its share of the order's charges. Landed is their sum.",
            ROUNDING,
        ),
        tables=(
            Table(
                columns=(
                    Column(title="Port", width=12),
                    Column(title="Part", width=13),
                    Column(title="Name", width=30, kind="prose"),
                    Column(title="Source", width=22, kind="prose"),
                    Column(title="Kind", width=11),
                    Column(title="Packs x pieces", width=14),
                    Column(title="Goods", width=11, kind="money"),
                    Column(title="Freight", width=9, kind="money"),
                    Column(title="Duty", width=9, kind="money"),
                    Column(title="Tax", width=9, kind="money"),
                    Column(title="Share of charges", width=9, kind="money"),
                    Column(title="Landed", width=11, kind="money"),
                    Column(title="Each piece", width=10, kind="money"),
                    Column(title="One piece alone", width=10, kind="money"),
                    Column(title="Days", width=6, kind="whole"),
                    Column(title="1 in 10 over", width=7, kind="whole"),
                    Column(title="Waiting for one", width=11, kind="money"),
                ),
                rows=plain_rows(
                    _source_row(port, one, source)
                    for port in landed.ports
                    for one in port.parts
                    for source in one.sources
                ),
            ),
        ),
        sortable=True,
        fixed_columns=2,
    )


def _source_row(port: PortCompared, one: PartCompared, source: FromSource) -> tuple[Cell, ...]:
    money = source.money
    return (
        port.port,
        one.part,
        one.name,
        source.source + (MARK if source.assumed else ""),
        kind_word(source),
        packs_text(source),
        float(money.goods),
        float(money.freight),
        float(money.duty),
        float(money.tax),
        float(source.charges),
        float(source.landed),
        float(source.each),
        None if source.alone is None else float(source.alone),
        source.lead_days,
        source.late_days,
        float(source.waiting),
    )
