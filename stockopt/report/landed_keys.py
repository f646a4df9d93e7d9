"""Local against mail order as keys and plain values; money in whole cents."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from stockopt.landed.landed import (
    Bought,
    BreakEven,
    FromSource,
    Landed,
    Order,
    PartCompared,
    SetCompared,
    SetWay,
    Way,
)
from stockopt.landed.money import LineMoney
from stockopt.report.landed_words import customs_words
from stockopt.report.plain_numbers import Keys, number


def port_keys(landed: Landed, part: str | None = None) -> list[Keys]:
    """Return every port compared; with `part`, of its parts only that one."""
    return [
        {
            "port": port.port,
            "boats": list(port.boats),
            "parts": [_part(one) for one in port.parts if part in (None, one.part)],
            "no_offer": list(port.no_offer),
            "ways": [_way(way) for way in port.ways],
            "break_even": [_break_even(one) for one in port.break_even],
            "duty_free": list(port.duty_free),
            "customs": customs_words(port),
            "sets": [
                _set(one)
                for one in port.sets
                if part in (None, one.quote.part) or part in one.quote.brings
            ],
        }
        for port in landed.ports
    ]


def cents_key(amount: Decimal | None) -> float | None:
    """Return money in whole cents as a number."""
    return None if amount is None else float(amount)


def money_keys(money: LineMoney) -> Keys:
    """Return the columns of a line."""
    return {
        "goods": float(money.goods),
        "freight": float(money.freight),
        "duty": float(money.duty),
        "tax": float(money.tax),
    }


def _part(one: PartCompared) -> Keys:
    return {
        "part": one.part,
        "name": one.name,
        "pieces": one.wanted.pieces,
        "expected_need": number(one.wanted.expected),
        "lost_day": float(one.wanted.lost_day),
        "pays_from": one.pays_from,
        "sources": [_source(source) for source in one.sources],
    }


def _source(one: FromSource) -> Keys:
    return {
        "source": one.source,
        "kind": one.kind,
        "assumed": one.assumed,
        "pieces": one.pieces,
        **money_keys(one.money),
        "charges": float(one.charges),
        "landed": float(one.landed),
        "landed_each": float(one.each),
        "alone": cents_key(one.alone),
        "lead_days": number(one.lead_days),
        "late_days": number(one.late_days),
        "extra_days": number(one.extra_days),
        "waiting": float(one.waiting),
        "awaited": cents_key(one.awaited),
        "lines": [_bought(line) for line in one.bought],
    }


def _bought(line: Bought) -> Keys:
    return {
        "part": line.quote.part,
        "pack": line.quote.pack,
        "packs": line.packs,
        "pieces": line.pieces,
        **money_keys(line.money),
        "charges": float(line.charges),
        "landed": float(line.landed),
        "contents": _pieces(line.quote.contents),
    }


def _set(one: SetCompared) -> Keys:
    quote = one.quote
    return {
        "set": quote.part,
        "source": quote.source,
        "kind": quote.kind,
        "pack": quote.pack,
        "contents": _pieces(quote.contents),
        **money_keys(one.one.money),
        **_set_way(one.one),
        "in_split": one.in_split,
        "parts": [{"part": part, **_set_way(way)} for part, way in one.ways],
    }


def _set_way(way: SetWay) -> Keys:
    return {
        "packs": way.packs,
        "landed": float(way.money.landed),
        "one_by_one": cents_key(way.one_by_one),
        "saves": cents_key(way.saves),
        "useful": _pieces(way.useful),
        "left": _pieces(way.left),
    }


def _pieces(pieces: Iterable[tuple[str, int]]) -> list[Keys]:
    return [{"part": part, "pieces": count} for part, count in pieces]


def _way(way: Way) -> Keys:
    return {
        "way": way.name,
        "total": float(way.total),
        "proven": way.proven,
        "elsewhere": list(way.elsewhere),
        "orders": [_order(order) for order in way.orders],
    }


def _order(order: Order) -> Keys:
    return {
        "source": order.source,
        "order_freight": float(order.freight),
        "handling": float(order.handling),
        "total": float(order.total),
        "lines": [_bought(line) for line in order.lines],
    }


def _break_even(one: BreakEven) -> Keys:
    return {
        "source": one.source,
        "parts": one.parts,
        "pieces": one.pieces,
        "local": float(one.local),
        "mail": float(one.mail),
        "goods": float(one.goods),
        "pays_from": one.pays_from,
        "pays_from_goods": cents_key(one.pays_from_goods),
    }
