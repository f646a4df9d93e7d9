"""What every form of the comparison of local shops with mail order says in words."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from stockopt.errors import StockoptError
from stockopt.fleet.fleet import Fleet
from stockopt.landed.break_even import MOST_PIECES
from stockopt.landed.landed import (
    SPLIT,
    BreakEven,
    FromSource,
    Landed,
    PartCompared,
    PortCompared,
    SetCompared,
    SetWay,
)
from stockopt.landed.quotes import Quote
from stockopt.report.words import money_text, pieces_text

#: At most so many near matches are named, of at least this likeness from 0 to 1.
NEAR, LIKENESS = 5, 0.6

ROUNDING = (
    "Every figure is rounded half up to the cent on its line and worked out from the printed "
    "figures before it; sums are sums of printed figures."
)
CHARGES = (
    "An order's charges (freight once, handling once) are shared out over its lines by the value "
    "of the goods, as if everything in the basket that the source sells came in one order."
)
WAITING = (
    "Waiting: extra days beyond the quickest source x what a day costs the boats (day cost x share "
    "of the consequence, averaged by need). It counts only where a boat waits for the piece: "
    "ordered in time it costs nothing."
)
PAYS_FROM = (
    "Pays from: pieces of that part alone from which an order by mail, all charges paid, costs "
    f"less than buying locally, up to {MOST_PIECES}."
)
SETS = (
    "Sets: landed, before the charges of an order, as are their parts one by one, each at the "
    "least a piece costs in this basket. Only pieces that the basket wants are counted; what is "
    "left over is worth nothing here. Which pays with the charges, the cheapest split says."
)
ASSUMED = (
    "Nobody quotes it locally: the port's price_factor x the cheapest quote of one piece anywhere."
)


def customs_words(port: PortCompared) -> str:
    """Say whose duty is 0 in the tables, and whom to ask about it; nothing without mail order."""
    mail = any(source.kind == "mail" for one in port.parts for source in one.sources)
    mail = mail or any(one.quote.kind == "mail" for one in port.sets)
    if not mail:
        return ""
    free = f"Duty is 0 in the tables for {' and '.join(port.duty_free)}. " if port.duty_free else ""
    return (
        f"{free}Duty and tax are those of your sources table. A yacht in transit may be free of "
        "duty, which depends on the port, the boat and her papers, and a boat in charter often is "
        "not: check it with customs or your agent before you order."
    )


def basket_words(landed: Landed, port: PortCompared) -> str:
    """Say what a port's basket holds."""
    pieces = sum(part.wanted.pieces for part in port.parts)
    return (
        f"The basket: {landed.basket} ({pieces_text(len(port.parts), 'part')}, "
        f"{pieces_text(pieces)}; for {', '.join(port.boats)})."
    )


def break_even_words(one: BreakEven, currency: str) -> str:
    """Say from how much of the basket's mix an order to a mail source pays."""
    what = (
        f"{one.source}: {pieces_text(one.pieces)} of {pieces_text(one.parts, 'part')} cost "
        f"{money_text(float(one.local), currency)} locally, by mail "
        f"{money_text(float(one.mail), currency)} before the charges of the order"
    )
    if one.pays_from is None or one.pays_from_goods is None:
        return f"{what}; the charges are never made up for."
    goods = money_text(float(one.pays_from_goods), currency)
    return (
        f"{what}. An order of that mix pays from {pieces_text(one.pays_from)} on, "
        f"which is {goods} of goods there."
    )


def split_words(port: PortCompared, currency: str) -> str:
    """Say what the cheapest split saves against buying everything locally, or by mail."""
    ways = {way.name: way for way in port.ways}
    split = ways.get(SPLIT)
    if split is None:
        return "Nobody sells enough of everything in the basket."
    saved = [
        f"{money_text(float(way.total - split.total), currency)} less than {name}"
        for name, way in ways.items()
        if way is not split and way.total > split.total
    ]
    proven = "" if split.proven else " (the time was up: a cheaper one may exist)"
    return (
        f"The cheapest split costs {money_text(float(split.total), currency)}{proven}"
        + (f": {' and '.join(saved)}" if saved else "")
        + "."
    )


def awaited_word(part: PartCompared) -> str:
    """Return which kind of source is cheapest for one piece that a boat waits for."""
    best = part.best_awaited
    return "-" if best is None else kind_word(best)


def kind_word(source: FromSource | Quote) -> str:
    """Return the kind of a source in words."""
    return "mail order" if source.kind == "mail" else "local"


def packs_text(source: FromSource) -> str:
    """Return the packs bought, such as 2 x 6 + 1 x 1."""
    return " + ".join(f"{line.packs} x {line.quote.pack}" for line in source.bought)


def pieces_list(pieces: Iterable[tuple[str, int]]) -> str:
    """Return pieces of several parts, such as 2 x SEAL-7, 1 x GASK-1."""
    return ", ".join(f"{count} x {part}" for part, count in pieces)


def set_words(one: SetCompared) -> str:
    """Say what a set holds, and in what packs it is sold."""
    pack = "" if one.quote.pack == 1 else f", in packs of {one.quote.pack}"
    return f"{pieces_list(one.quote.contents)}{pack}"


def set_way_words(part: str, one: SetCompared, way: SetWay, currency: str) -> str:
    """Say what it takes to get one part in a set, and what is left over."""
    useful, quote = dict(way.useful), one.quote
    sets = pieces_text(way.packs * quote.pack, "set")
    text = (
        f"In a set: {quote.part} from {quote.source} ({set_words(one)}). {sets} for "
        f"{pieces_text(useful[part])} of it: {money_text(float(way.money.landed), currency)} "
        "before the charges of an order"
    )
    others = pieces_list(way.useful)
    text += (
        f"; nobody sells all of {others} singly"
        if way.one_by_one is None
        else f", {others} one by one {money_text(float(way.one_by_one), currency)}"
    )
    return f"{text}. Left over: {pieces_list(way.left) or 'nothing'}."


def pick_compared(landed: Landed, fleet: Fleet, wanted: str) -> str:
    """Return the number of one part or set compared, in any capitals, or by one of its aliases.

    Raises
    ------
    StockoptError
        Where no basket holds it; names those that are near.
    """
    compared = {part.part for port in landed.ports for part in port.parts}
    sets = {one.quote.part for port in landed.ports for one in port.sets}
    parts = sorted(compared | sets)
    numbers = {part.casefold(): part for part in parts}
    aliases = fleet.aliases
    for other, part in zip(aliases["other"], aliases["part"], strict=True):
        if part in numbers.values():
            numbers.setdefault(other.casefold(), part)
    text = wanted.strip()
    found = numbers.get(text.casefold())
    if found is not None:
        return found
    near = difflib.get_close_matches(text.casefold(), numbers, n=NEAR, cutoff=LIKENESS)
    likely = f"; near it: {', '.join(dict.fromkeys(numbers[name] for name in near))}"
    raise StockoptError(f"No basket holds a part '{text}'{likely if near else ''}.")
