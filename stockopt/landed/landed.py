"""Local against mail order, as values. All money in the plan's currency, in whole cents."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from stockopt.landed.money import NO_MONEY, NOTHING, LineMoney
from stockopt.landed.quotes import Quote

#: The way that takes every part from where the whole basket is cheapest.
SPLIT = "cheapest split"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a port's basket holds of one part.

    Parameters
    ----------
    pieces
        To be bought.
    expected
        Pieces its boats are expected to need over the season.
    lost_day
        What one day costs on which a boat waits for it: day cost x share of the consequence,
        averaged over the boats by what each is expected to need.
    """

    pieces: int
    expected: float
    lost_day: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """Packs of one quote, priced; `pieces` of a set are sets.

    `charges` is its share of what the order costs beside its lines, by value of the goods.
    """

    quote: Quote
    packs: int
    money: LineMoney
    charges: Decimal = NOTHING

    @property
    def pieces(self) -> int:
        """Pieces in all its packs."""
        return self.packs * self.quote.pack

    @property
    def parts(self) -> int:
        """Pieces of single parts in all its packs, those inside sets counted."""
        return self.packs * sum(self.quote.brings.values())

    @property
    def landed(self) -> Decimal:
        """The line in hand, with its share of the order's charges."""
        return self.money.landed + self.charges


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What goes to one source, and what it costs beside its lines."""

    source: str
    lines: tuple[Bought, ...]
    freight: Decimal
    handling: Decimal

    @property
    def money(self) -> LineMoney:
        """The lines, column by column."""
        return sum((line.money for line in self.lines), NO_MONEY)

    @property
    def total(self) -> Decimal:
        """Everything paid for the order."""
        return self.money.landed + self.freight + self.handling


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to buy a whole basket.

    Parameters
    ----------
    name
        ``local``, ``mail order`` or ``cheapest split``.
    orders
        One for each source, by source.
    elsewhere
        Parts that this kind of source does not sell, taken from whoever does.
    proven
        False where the time was up before the way was proven to be the cheapest.
    """

    name: str
    orders: tuple[Order, ...]
    elsewhere: tuple[str, ...]
    proven: bool

    @property
    def total(self) -> Decimal:
        """Everything paid."""
        return sum((order.total for order in self.orders), NOTHING)


@dataclass(frozen=True, slots=True, kw_only=True)
class FromSource:
    """One part of the basket from one source.

    Parameters
    ----------
    source, kind, assumed
        As in :class:`~stockopt.landed.quotes.Quote`.
    bought
        The cheapest packs that make up the pieces wanted; their share of the charges is that of
        one order of everything in the basket that this source sells.
    each
        Landed cost of one piece: that of the line, shared by the pieces in it.
    alone
        What an order of one piece costs, charges in full; None below the source's minimum order.
    lead_days, late_days
        Usual days, and those that 1 order in 10 exceeds.
    extra_days
        Usual days beyond those of the quickest source of the part.
    waiting
        What those cost where a boat waits for one piece: extra days x what a day costs.
    """

    source: str
    kind: str
    assumed: bool
    bought: tuple[Bought, ...]
    each: Decimal
    alone: Decimal | None
    lead_days: float
    late_days: float
    extra_days: float
    waiting: Decimal

    @property
    def pieces(self) -> int:
        """Pieces in the packs."""
        return sum(line.pieces for line in self.bought)

    @property
    def money(self) -> LineMoney:
        """The packs, column by column."""
        return sum((line.money for line in self.bought), NO_MONEY)

    @property
    def charges(self) -> Decimal:
        """Share of the order's charges."""
        return sum((line.charges for line in self.bought), NOTHING)

    @property
    def landed(self) -> Decimal:
        """The pieces in hand, with their share of the charges."""
        return self.money.landed + self.charges

    @property
    def awaited(self) -> Decimal | None:
        """One piece ordered alone while a boat waits for it."""
        return None if self.alone is None else self.alone + self.waiting


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCompared:
    """One part of the basket, from every source that sells it.

    Parameters
    ----------
    part, name, wanted
        Which, and how much of it.
    sources
        Cheapest landed first; none where the part comes in sets only.
    pays_from
        Pieces of this part alone from which an order by mail costs less than buying locally, and
        goes on doing so; None where it never does, or one of the two cannot be had.
    """

    part: str
    name: str
    wanted: Wanted
    sources: tuple[FromSource, ...]
    pays_from: int | None

    def best(self, kind: str) -> FromSource | None:
        """Return the cheapest of one kind."""
        return next((source for source in self.sources if source.kind == kind), None)

    @property
    def best_awaited(self) -> FromSource | None:
        """The cheapest for one piece that a boat waits for."""
        able = [source for source in self.sources if source.awaited is not None]
        return min(able, key=lambda source: source.awaited or NOTHING, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetWay:
    """Packs of one set from one source, beside what it brings bought one by one.

    Both are landed before the charges of an order.

    Parameters
    ----------
    packs, money
        How many packs of the set, and what they cost.
    useful
        (part, pieces): what of them the basket wants, by part.
    left
        (part, pieces): what of them it does not.
    one_by_one
        What the useful pieces cost without the set, each at the least landed cost of a piece at
        which the basket gets the part; None where nobody sells one of them singly.
    """

    packs: int
    money: LineMoney
    useful: tuple[tuple[str, int], ...]
    left: tuple[tuple[str, int], ...]
    one_by_one: Decimal | None

    @property
    def saves(self) -> Decimal | None:
        """By how much the set is cheaper; below 0 where it is dearer."""
        return None if self.one_by_one is None else self.one_by_one - self.money.landed


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCompared:
    """One set sold under one number that holds parts of the basket, from one source.

    Parameters
    ----------
    quote
        Which, from whom, and what it holds.
    one
        One pack of it.
    ways
        By part of the basket that it holds: the fewest packs that bring all that is wanted of
        that part, or all packs that are to be had.
    in_split
        Packs of it in the cheapest split, which counts the charges of the orders too.
    """

    quote: Quote
    one: SetWay
    ways: tuple[tuple[str, SetWay], ...]
    in_split: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MixCost:
    """What so many pieces of a mix cost: their goods at a mail source, locally, and by mail."""

    pieces: int
    goods: Decimal
    local: Decimal
    mail: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """From how much of the basket's mix an order to one mail source pays.

    Parameters
    ----------
    source
        Which.
    parts, pieces
        Parts of the basket that it sells for less than they cost locally, before the charges of
        the order, and pieces wanted of them.
    local, mail
        What those cost locally, and by mail before the charges.
    goods
        Their price at the source, which free freight and minimum order look at.
    pays_from
        Pieces, in the same mix, from which the order pays; None where it never does.
    pays_from_goods
        Their price at the source.
    curve
        What the mix costs both ways, the charges of the order paid, for growing numbers of pieces.
    """

    source: str
    parts: int
    pieces: int
    local: Decimal
    mail: Decimal
    goods: Decimal
    pays_from: int | None
    pays_from_goods: Decimal | None
    curve: tuple[MixCost, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PortCompared:
    """One port's basket.

    Parameters
    ----------
    port, boats
        Which, and the boats it is for.
    parts
        By part number.
    no_offer
        Parts wanted that nobody sells there.
    ways
        Local, mail order and the cheapest split, as far as there are any.
    break_even
        By mail source.
    duty_free
        Mail sources whose duty is 0 in the tables.
    sets
        Sets that hold parts of the basket, by number, source and pack.
    """

    port: str
    boats: tuple[str, ...]
    parts: tuple[PartCompared, ...]
    no_offer: tuple[str, ...]
    ways: tuple[Way, ...]
    break_even: tuple[BreakEven, ...]
    duty_free: tuple[str, ...]
    sets: tuple[SetCompared, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Landed:
    """Every port's basket. `basket` says in words what the baskets hold."""

    ports: tuple[PortCompared, ...]
    basket: str


#: Nothing compared.
NO_PORTS = Landed(ports=(), basket="")
