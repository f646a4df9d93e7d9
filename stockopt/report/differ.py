"""The differences of two plans as text 80 columns wide, and as keys."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from stockopt.report.differences import Change, Differences, LineChange, OrderChange
from stockopt.report.plain_numbers import Keys, money
from stockopt.report.terminal import indented
from stockopt.report.words import brief, money_text, pieces_text, share_text
from stockopt.units import Measures

#: Lines shown unless all are asked for: a screen or two.
MOST_LINES = 25

_WORDS = {
    "replace_now": "replace now",
    "restock": "restock on the way",
    "moved": "from store or boats",
    "ahead": "sent ahead",
    "ahead_at": "sent ahead to",
    "own_left": "own left ashore",
    "spend_now": "spend now",
    "expected_later": "expected later",
    "total": "together",
    "departs_on": "departs",
    "order_by": "order by",
    "arrives_by": "in hand by",
}
_MONEY = {"spend_now", "expected_later", "total", "budget", "landed", "freight", "handling"}


def print_differences(console: Console, differences: Differences, most: int | None) -> None:
    """Print what changed and why, with at most `most` lines of each kind; None for all."""
    first, second = differences.first, differences.second
    fleets = " -> ".join(dict.fromkeys(str(plan.keys["fleet"]) for plan in (first, second)))
    console.print(Text(f"{fleets}: {first.name} -> {second.name}", style="bold"))
    for text in _heads(differences):
        console.print(indented(Text(text)))
    if differences.is_empty:
        console.print(indented(Text("No difference.")))
        return
    console.print(indented(_cost(differences)))
    for boat, changes in differences.boats.items():
        told = ", ".join(_say(_of_boat(change, differences.measures)) for change in changes)
        console.print(indented(Text(f"{boat}: {told}"), above=0))
    _print_lines(console, differences.lines, most)
    _print_moves(console, differences.moves, most)
    for title, found in (
        ("Orders, money now", differences.orders),
        ("Order charges, money now", differences.charges),
        ("Store levels, money later", differences.stores),
    ):
        _print_orders(console, title, found, most)


def _heads(differences: Differences) -> Iterator[str]:
    first, second = differences.first.keys, differences.second.keys
    if first["planned_on"] != second["planned_on"]:
        yield f"Planned on {first['planned_on']} -> {second['planned_on']}."
    if differences.supposed:
        yield f"The second supposes: {'; '.join(differences.supposed)}."
    if differences.no_longer:
        yield f"Only the first supposes: {'; '.join(differences.no_longer)}."
    if differences.doubt >= 0.005 and not differences.is_empty:
        told = money_text(differences.doubt, str(first["currency"]))
        yield f"Neither need be the very best: up to {told} of the difference may owe to that."


def _cost(differences: Differences) -> Table:
    first, second = differences.first, differences.second
    currency = str(first.keys["currency"])
    table = Table.grid(padding=(0, 2))
    for justify in ("left", "right", "right", "right"):
        table.add_column(justify=justify, no_wrap=justify == "right")
    for name, what in (
        ("spend_now", "Spend now"),
        ("expected_later", "Expected later"),
        ("total", "Together"),
    ):
        one, other = first.cost(name), second.cost(name)
        table.add_row(
            what,
            f"{one:,.2f}",
            f"-> {money_text(other, currency)}",
            f"{other - one:+,.2f}",
            style="bold" if name == "total" else "",
        )
    for what, more in (
        ("lines done alike", differences.alike_later),
        ("packs and stores", differences.other_later),
    ):
        if abs(more) >= 0.005:
            table.add_row(f"  later, on {what}", "", "", f"{more:+,.2f}")
    return table


def _print_lines(console: Console, lines: Sequence[LineChange], most: int | None) -> None:
    shown = _dearest(lines, most)
    for boat, group in groupby(shown, key=lambda line: line.boat):
        console.print(indented(Text(boat, style="bold")))
        for line in group:
            console.print(_body(f"{line.name} ({line.part})", 4))
            console.print(_body(", ".join(map(_say, line.changes)), 6))
            console.print(
                _body(
                    f"now {line.now:+,.2f}, later {line.later:+,.2f}: "
                    f"together {line.together:+,.2f}",
                    6,
                )
            )
            for reason in line.reasons:
                console.print(_body(f"because {reason}", 6))
    _print_rest(console, len(lines) - len(shown), "line")


def _print_moves(console: Console, moves: Sequence[LineChange], most: int | None) -> None:
    if not moves:
        return
    console.print(indented(Text("The same aboard, from elsewhere", style="bold")))
    for line in moves[:most]:
        console.print(_body(f"{line.boat}, {line.part}: {', '.join(map(_say, line.changes))}", 4))
    _print_rest(console, len(moves[most:]) if most is not None else 0, "line")


def _dearest(lines: Sequence[LineChange], most: int | None) -> list[LineChange]:
    """Return the lines of most money, in the order of their boats."""
    dearest = sorted(lines, key=lambda line: (-abs(line.together), line.boat, line.part))[:most]
    kept = {(line.boat, line.part) for line in dearest}
    return [line for line in lines if (line.boat, line.part) in kept]


def _print_orders(
    console: Console, title: str, found: Sequence[OrderChange], most: int | None
) -> None:
    if not found:
        return
    console.print(indented(Text(title, style="bold")))
    dearest = sorted(found, key=lambda one: (-abs(one.more), one.where))[:most]
    for one in sorted(dearest, key=lambda one: one.where):
        more = f" ({one.more:+,.2f})" if abs(one.more) >= 0.005 else ""
        told = ", ".join(map(_say, one.changes))
        console.print(_body(f"{' / '.join(one.where)}: {told}{more}", 4))
        for reason in one.reasons:
            console.print(_body(f"because {reason}", 6))
    _print_rest(console, len(found) - len(dearest), "line")


def _print_rest(console: Console, count: int, noun: str) -> None:
    if count:
        console.print(_body(f"... and {pieces_text(count, noun)} more: --all lists them", 4))


def _body(text: str, left: int) -> Padding:
    return indented(Text(text), above=0, left=left)


def _of_boat(change: Change, measures: Measures) -> Change:
    """Return a change of a boat; of masses and room, in words, in the unit that people read."""
    what, _, limit = change.what.partition("_")
    if what not in ("kg", "litres"):
        return change
    unit = str(measures.mass if what == "kg" else measures.volume)
    shown = measures.of_mass if what == "kg" else measures.of_room
    before, after = (
        f"{shown(value):,.1f}" if isinstance(value, int | float) else value
        for value in (change.before, change.after)
    )
    return Change(what=f"limit, {unit}" if limit else unit, before=before, after=after)


def _say(change: Change) -> str:
    what = _WORDS.get(change.what, change.what.replace("_", " "))
    return f"{what} {_value(change.what, change.before)} -> {_value(change.what, change.after)}"


def _value(what: str, value: object) -> str:
    """Return one value as a person writes it."""
    if value is None or value == "":
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return f"{value:,}"
    if not isinstance(value, float):
        return str(value)
    if what == "readiness":
        return share_text(value)
    return f"{value:,.2f}" if what in _MONEY else brief(value)


def differ_keys(differences: Differences) -> Keys:
    """Return the differences as keys and plain values."""
    first, second = differences.first, differences.second
    return {
        "stockopt": first.keys["stockopt"],
        "fleet": first.keys["fleet"],
        "currency": first.keys["currency"],
        "planned_on": [first.keys["planned_on"], second.keys["planned_on"]],
        "same": differences.is_empty,
        "doubt": money(differences.doubt),
        "supposed": list(differences.supposed),
        "no_longer": list(differences.no_longer),
        "cost": _change_keys(differences.cost),
        "boats": [
            {"boat": boat, "changes": _change_keys(changes)}
            for boat, changes in differences.boats.items()
        ],
        "lines": [_line_keys(line) for line in differences.lines],
        "moves": [_line_keys(line) for line in differences.moves],
        "alike_later": money(differences.alike_later),
        "other_later": money(differences.other_later),
        "orders": [_order_keys(("source", "place", "part"), one) for one in differences.orders],
        "charges": [_order_keys(("source", "place"), one) for one in differences.charges],
        "stores": [
            _order_keys(("store", "part"), one) | {"reasons": list(one.reasons)}
            for one in differences.stores
        ],
    }


def _line_keys(line: LineChange) -> Keys:
    return {
        "boat": line.boat,
        "part": line.part,
        "name": line.name,
        "changes": _change_keys(line.changes),
        "now": money(line.now),
        "later": money(line.later),
        "together": money(line.together),
        "reasons": list(line.reasons),
    }


def _order_keys(names: Iterable[str], one: OrderChange) -> Keys:
    return {
        **dict(zip(names, one.where, strict=True)),
        "changes": _change_keys(one.changes),
        "more": money(one.more),
    }


def _change_keys(changes: Iterable[Change]) -> list[Keys]:
    return [
        {"what": change.what, "before": change.before, "after": change.after} for change in changes
    ]
