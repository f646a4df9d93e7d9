"""Local against mail order, for the terminal."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from rich.console import Console
from rich.table import Table
from rich.text import Text

from stockopt.landed.landed import SPLIT, FromSource, PartCompared, PortCompared, SetCompared
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
    set_way_words,
    set_words,
    split_words,
)
from stockopt.report.run import Compared
from stockopt.report.terminal import indented, plain_table
from stockopt.report.words import brief

#: Sources side by side on a page of 80 columns.
ABREAST = 3
#: What marks a price that nobody quotes.
MARK = "*"


def print_landed(console: Console, compared: Compared, part: str | None) -> None:
    """Print every port's comparison; with `part`, that part from every source instead of all."""
    fleet = compared.fleet
    currency = fleet.settings.currency
    for port in compared.landed.ports:
        title = f"{fleet.name}, planned on {fleet.settings.planned_on}: local or mail order"
        console.print(Text(f"{title} at {port.port}, in {currency}", style="bold"))
        if part is None:
            console.print(indented(Text(basket_words(compared.landed, port))))
            console.print(indented(_ways(port)))
            console.print(indented(Text(split_words(port, currency)), above=0))
            for source in port.break_even:
                console.print(indented(Text(break_even_words(source, currency)), above=0))
            console.print(indented(_parts(port)))
        else:
            for one in port.parts:
                if one.part == part:
                    _print_part(console, one)
                    _print_sets_of(console, one.part, port.sets, currency)
        _print_sets(console, port, part)
        _print_words(console, port, part)


def _ways(port: PortCompared) -> Table:
    numbers = ("Goods", "By mass", "Duty, tax", "Per order", "Total")
    table = plain_table("Way, and from whom", *numbers, right=set(numbers))
    for way in port.ways:
        money = [order.money for order in way.orders]
        per_order = sum((order.freight + order.handling for order in way.orders), Decimal(0))
        table.add_row(
            Text(way.name, style="bold"),
            *(
                _text(sum(column, Decimal(0)))
                for column in (
                    (one.goods for one in money),
                    (one.freight for one in money),
                    (one.duty + one.tax for one in money),
                )
            ),
            _text(per_order),
            _text(way.total),
        )
        if way.name == SPLIT or len(way.orders) > 1:
            for order in way.orders:
                table.add_row(
                    Text(f"  {order.source}"),
                    _text(order.money.goods),
                    _text(order.money.freight),
                    _text(order.money.duty + order.money.tax),
                    _text(order.freight + order.handling),
                    _text(order.total),
                )
    return table


def _parts(port: PortCompared) -> Table:
    numbers = ("Pieces", "Local", "By mail", "By mail saves", "Pays from")
    table = plain_table("Part", *numbers, "When awaited", right=set(numbers))
    for one in port.parts:
        local, mail = one.best("local"), one.best("mail")
        saves = "" if local is None or mail is None else _text(local.landed - mail.landed)
        table.add_row(
            Text(one.part),
            f"{one.wanted.pieces}",
            "" if local is None else _text(local.landed) + (MARK if local.assumed else ""),
            "" if mail is None else _text(mail.landed),
            saves,
            "" if one.pays_from is None else f"{one.pays_from}",
            awaited_word(one),
        )
    return table


def _print_part(console: Console, one: PartCompared) -> None:
    wanted = one.wanted
    console.print(indented(Text(f"{one.part}  {one.name}", style="bold")))
    line = (
        f"{wanted.pieces} in the basket, {brief(wanted.expected)} expected to be needed; a day on "
        f"which a boat waits for it costs {_text(wanted.lost_day)}."
    )
    console.print(indented(Text(line), above=0))
    for first in range(0, len(one.sources), ABREAST):
        console.print(indented(_side_by_side(one.sources[first : first + ABREAST])))
    pays = (
        "An order of this part alone never pays by mail."
        if one.pays_from is None
        else f"An order of this part alone pays by mail from {one.pays_from} pieces on."
    )
    console.print(indented(Text(pays)))
    best = one.best_awaited
    if best is not None:
        text = f"While a boat waits for one piece, {best.source} is the cheapest."
        console.print(indented(Text(text), above=0))


def _print_sets_of(
    console: Console, part: str, sets: tuple[SetCompared, ...], currency: str
) -> None:
    """Print what it takes to get one part in a set."""
    for one in sets:
        for of_part, way in one.ways:
            if of_part == part:
                console.print(indented(Text(set_way_words(part, one, way, currency))))


def _print_sets(console: Console, port: PortCompared, part: str | None) -> None:
    """Print every set beside its parts, of one part asked for only that set itself."""
    sets = [one for one in port.sets if part in (None, one.quote.part)]
    if not sets:
        return
    numbers = ("One pack", "One by one", "Set saves", "Packs in split")
    table = plain_table("Set, and from whom", *numbers, right=set(numbers))
    for one in sets:
        way = one.one
        table.add_row(
            Text(f"{one.quote.part}, {one.quote.source}"),
            _text(way.money.landed),
            "" if way.one_by_one is None else _text(way.one_by_one),
            "" if way.saves is None else _text(way.saves),
            f"{one.in_split}",
        )
    console.print(indented(table))
    for text in dict.fromkeys(map(_contents, sets)):
        console.print(indented(Text(text), above=0))


def _contents(one: SetCompared) -> str:
    left = f"; of one pack left over: {pieces_list(one.one.left)}" if one.one.left else ""
    return f"{one.quote.part} holds {set_words(one)}{left}."


_ROWS: tuple[tuple[str, Callable[[FromSource], str]], ...] = (
    ("Kind", kind_word),
    ("Packs x pieces in it", packs_text),
    ("Goods", lambda one: _text(one.money.goods)),
    ("Freight by mass", lambda one: _text(one.money.freight)),
    ("Duty", lambda one: _text(one.money.duty)),
    ("Tax", lambda one: _text(one.money.tax)),
    ("Share of charges", lambda one: _text(one.charges)),
    ("Landed", lambda one: _text(one.landed) + (MARK if one.assumed else "")),
    ("Landed, each piece", lambda one: _text(one.each)),
    ("Days; 1 in 10 over", lambda one: f"{one.lead_days:g}; {one.late_days:g}"),
    ("Extra days", lambda one: f"{one.extra_days:g}"),
    ("One piece alone", lambda one: _or_too_small(one.alone)),
    ("Waiting for it", lambda one: _text(one.waiting)),
    ("Alone and awaited", lambda one: _or_too_small(one.awaited)),
)


def _side_by_side(sources: tuple[FromSource, ...]) -> Table:
    table = plain_table("", *(one.source for one in sources), right=set())
    for column in table.columns[1:]:
        column.justify = "right"
    for title, cell in _ROWS:
        table.add_row(title, *(Text(cell(one)) for one in sources))
    return table


def _print_words(console: Console, port: PortCompared, part: str | None) -> None:
    shown = [one for one in port.parts if part in (None, one.part)]
    assumed = any(source.assumed for one in shown for source in one.sources)
    nobody = f"Nobody sells there: {', '.join(port.no_offer)}." if port.no_offer else ""
    explained = (
        nobody,
        f"{MARK} {ASSUMED}" if assumed else "",
        *((CHARGES, WAITING) if shown else ()),
        PAYS_FROM if part is None else "",
        SETS if port.sets and (part is None or not shown) else "",
        ROUNDING,
        customs_words(port),
    )
    for number, text in enumerate(filter(None, explained)):
        console.print(indented(Text(text), above=0 if number else 1))


def _or_too_small(amount: Decimal | None) -> str:
    return "too small an order" if amount is None else _text(amount)


def _text(amount: Decimal) -> str:
    return f"{amount:,.2f}"
