"""Money to the cent, as a person works it out by hand from the tables.

Every column of money on a line is rounded half up to cents, in the plan's currency, and is worked
out from the printed figures before it; a sum is the sum of the printed figures. So whoever checks
an order with a pocket calculator comes to the same cents.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")
NOTHING = Decimal("0.00")


def exact(value: float) -> Decimal:
    """Return the number that was written in a table, free of binary dust: 12 digits that matter.

    Examples
    --------
    >>> exact(8.1 / 100), exact(0.1 + 0.2)
    (Decimal('0.081'), Decimal('0.3'))
    """
    return Decimal(f"{value:.12g}")


def exact_or_none(value: float) -> Decimal | None:
    """Return the number of a table; None where its cell is blank."""
    return None if math.isnan(value) else exact(value)


def cents(amount: Decimal) -> Decimal:
    """Return money rounded half up to cents.

    Examples
    --------
    >>> cents(Decimal("2.675")), cents(Decimal("0.004"))
    (Decimal('2.68'), Decimal('0.00'))
    """
    return amount.quantize(CENT, rounding=ROUND_HALF_UP)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMoney:
    """One line of an order in the plan's currency, each column in whole cents.

    Parameters
    ----------
    goods
        Packs x price of a pack x rate.
    freight
        By mass: pieces x kg x freight per kg x rate.
    duty
        Duty x (goods + freight), or x goods where duty is on the price alone.
    tax
        Tax x (goods + freight + duty).
    """

    goods: Decimal
    freight: Decimal
    duty: Decimal
    tax: Decimal

    @property
    def landed(self) -> Decimal:
        """The line in hand, before the order's own charges."""
        return self.goods + self.freight + self.duty + self.tax

    def __add__(self, other: LineMoney) -> LineMoney:
        """Return both together, column by column."""
        return LineMoney(
            goods=self.goods + other.goods,
            freight=self.freight + other.freight,
            duty=self.duty + other.duty,
            tax=self.tax + other.tax,
        )


NO_MONEY = LineMoney(goods=NOTHING, freight=NOTHING, duty=NOTHING, tax=NOTHING)


def price_line(
    *, goods: Decimal, freight: Decimal, duty: Decimal, tax: Decimal, duty_on_price: bool
) -> LineMoney:
    """Return a line from its unrounded goods and freight, and its duty and tax as shares.

    Notes
    -----
    (goods + freight) x (1 + duty) x (1 + tax), or (goods x (1 + duty) + freight) x (1 + tax), each
    step rounded. *Source* of the order of steps: US Department of Commerce, export.gov, Duty and
    Tax Calculation Methods (duty on cost, insurance and freight; value added tax on that and the
    duty); Australian Customs, value of the taxable importation (duty on the customs value alone;
    tax on that, the duty and the transport).

    Examples
    --------
    The first source's own: 932 of goods, 68 of freight and insurance, 7 % duty, 18 % tax:

    >>> price_line(goods=Decimal(932), freight=Decimal(68), duty=Decimal("0.07"),
    ...            tax=Decimal("0.18"), duty_on_price=False).landed
    Decimal('1262.60')
    """
    goods, freight = cents(goods), cents(freight)
    dutiable = goods if duty_on_price else goods + freight
    dues = cents(dutiable * duty)
    return LineMoney(
        goods=goods, freight=freight, duty=dues, tax=cents((goods + freight + dues) * tax)
    )


def share_out(amount: Decimal, by: list[Decimal]) -> list[Decimal]:
    """Share an amount in whole cents out in proportion; what rounding leaves, the largest takes.

    Parameters
    ----------
    amount
        In whole cents.
    by
        At least one, none below 0; in equal parts where all are 0.

    Examples
    --------
    >>> [str(share) for share in share_out(Decimal("10.00"), [Decimal(1), Decimal(1), Decimal(1)])]
    ['3.34', '3.33', '3.33']
    """
    weights = by if any(by) else [Decimal(1)] * len(by)
    whole = sum(weights, Decimal(0))
    shares = [cents(amount * weight / whole) for weight in weights]
    shares[weights.index(max(weights))] += amount - sum(shares, Decimal(0))
    return shares
