"""Choices where spares expire under way, or can meet the boat on her way."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np

from stockopt.choices.aboard import Terms, list_choices
from stockopt.choices.choices import Ahead, Choice
from stockopt.choices.frontier import LEAST_CHANCE, LEAST_SAVING, find_undominated
from stockopt.choices.keeping import Shelf
from stockopt.choices.lasting import Course, Cut, cut_stretches, find_end, follow
from stockopt.demand.demand import PartDemand

#: Most spares beyond the floor, and most that meet her, that are looked at.
MOST_BEYOND = 8


def list_lasting_choices(
    need: PartDemand, terms: Terms, shelf: Shelf | None, meetings: Sequence[Ahead]
) -> tuple[Choice, ...]:
    """List the choices worth looking at.

    Parameters
    ----------
    need, terms
        As for :func:`~stockopt.choices.aboard.list_choices`, which is called where nothing
        expires.
    shelf
        Where pieces expire under way; no order meets her then.
    meetings
        Ports where orders can meet her.

    Returns
    -------
    tuple of Choice
        At least one.

    Notes
    -----
    Pieces that expire are used before those that keep. What is replaced now is taken from her own
    that expire first; they are carried only where none that keeps is left, or stay ashore. One
    that expires under way does not count for the floor; a piece bought today does, as nobody can
    do better. Where spares are made up on the way, those that would expire before the next chance
    are replaced too, and charged in full even if one of them was used: a little too much.
    """
    if shelf is None:
        found = list(list_choices(need, terms))
        for meeting in meetings:
            found += _list_met(need, terms, meeting)
    else:
        found = list(_list_expiring(need, terms, shelf))
    ports = sorted({choice.ahead_at for choice in found if choice.ahead})
    found.sort(key=lambda c: (c.pieces, c.carry, c.replace_now, c.restock, c.own_left, c.ahead))
    criteria = np.array([_list_criteria(choice, terms, shelf, ports) for choice in found])
    return tuple(itertools.compress(found, find_undominated(criteria)))


def _list_criteria(
    choice: Choice, terms: Terms, shelf: Shelf | None, ports: Sequence[str]
) -> list[float]:
    """List what the program can weigh against each other, less of each being better."""
    expiring = 0 if shelf is None else len(shelf.own)
    values = [choice.pieces + choice.own_left, round(choice.later_cost, 6)]
    if expiring:
        n, f = choice.carry, choice.replace_now
        values.append(-_count_spare(terms, expiring, n, f, choice.own_left))
    if terms.bulky:
        values.append(choice.aboard)
    if terms.feeds:  # what others cost hangs on the number: only those of the same are compared
        values += [choice.replace_now, -choice.replace_now]
    if terms.stops:
        values.append(round(choice.shortage_chance, 9))
    return values + [choice.ahead if choice.ahead_at == port else 0 for port in ports]


def _count_spare(terms: Terms, expiring: int, n: int, f: int, left: int) -> int:
    """Count her own lasting pieces that stay ashore, see `BoatPart.count_spare`."""
    return max(0, terms.on_hand - expiring - max(0, f - (expiring - left)) - n)


def _list_levels(need: PartDemand, terms: Terms) -> list[int]:
    if terms.pin is not None:
        return [terms.pin]
    most = min(need.whole.shape[-1] - 1, MOST_BEYOND)
    return list(range(terms.floor, terms.floor + most + 1))


def _list_met(need: PartDemand, terms: Terms, meeting: Ahead) -> Iterator[Choice]:
    """List choices with pieces that meet her at one port, as long as one more is of use."""
    cuts = [_cut(need, terms, f, [meeting.arrives_on], [None]) for f in range(need.positions + 1)]
    for f, n in itertools.product(range(need.positions + 1), _list_levels(need, terms)):
        before: Choice | None = None
        for met in range(MOST_BEYOND + 1):
            course = follow([cut.carry(n, met) for cut in cuts[f]], need.whole[f], 0)
            spare = max(0, terms.on_hand - n - f)
            choice = _make(need, terms, (n, f), course, spare=spare, ahead=met, port=meeting.port)
            if before is not None:
                saved = before.later_cost - choice.later_cost - terms.credit
                safer = before.shortage_chance - choice.shortage_chance
                if saved < LEAST_SAVING and not (terms.stops and safer >= LEAST_CHANCE):
                    break
                yield choice
            before = choice


def _list_expiring(need: PartDemand, terms: Terms, shelf: Shelf) -> Iterator[Choice]:
    """List choices whose pieces expire under way, own ones taken along or left ashore."""
    restocks = len(need.stretches) > 1 and not np.isnan(terms.restock_prices[:-1]).any()
    worth = 0.0 if shelf.fresh is not None else terms.credit
    for left in sorted({0, len(shelf.own)}):
        for f, n in itertools.product(range(need.positions + 1), _list_levels(need, terms)):
            last_days, old = _list_last_days(terms, shelf, n, f, left)
            if n - old < terms.floor:
                continue
            course = _sail(need, terms, f, last_days)
            spare = _count_spare(terms, len(shelf.own), n, f, left)
            yield _make(need, terms, (n, f), course, own_left=left, worth=worth, spare=spare)
            if restocks and n:
                course, paid = _restock(need, terms, shelf, f, last_days)
                yield _make(
                    need,
                    terms,
                    (n, f),
                    course,
                    own_left=left,
                    worth=worth,
                    spare=spare,
                    restock_cost=paid,
                )


def _list_last_days(
    terms: Terms, shelf: Shelf, n: int, f: int, left: int
) -> tuple[list[date | None], int]:
    """List the last good days of the n spares, those that expire first in front.

    Also returned: how many of them are her own that expire under way.
    """
    own = list(shelf.own[left:])[f:]  # what is replaced now takes the first
    lasting = terms.on_hand - len(shelf.own) - max(0, f - (len(shelf.own) - left))
    keep = min(max(lasting, 0), n)
    old = min(len(own), n - keep)
    fresh = [] if shelf.fresh is None else [shelf.fresh] * (n - keep - old)
    days = sorted([*own[len(own) - old :], *fresh])
    return [*days, *[None] * (n - len(days))], old


def _count(days: Sequence[date | None]) -> int:
    return sum(day is not None for day in days)


def _sail(need: PartDemand, terms: Terms, f: int, last_days: Sequence[date | None]) -> Course:
    """Carry the pieces for the whole plan."""
    cuts = _cut(need, terms, f, [None] * len(last_days), last_days)
    return follow(cuts, need.whole[f], _count(last_days))


def _cut(
    need: PartDemand,
    terms: Terms,
    f: int,
    arrivals: Sequence[date | None],
    last_days: Sequence[date | None],
) -> list[Cut]:
    return cut_stretches(
        need.stretches,
        need.by_stretch[f],
        terms.shortage_costs,
        arrivals=arrivals,
        last_days=last_days,
    )


def _restock(
    need: PartDemand, terms: Terms, shelf: Shelf, f: int, last_days: Sequence[date | None]
) -> tuple[Course, float]:
    """Make up to as many again at every chance, and replace what would expire before the next."""
    days, paid, expired = list(last_days), 0.0, False
    cost = short = chance = left = 0.0
    for s, stretch in enumerate(need.stretches):
        end = find_end(stretch)
        gone = sum(day is not None and day < end for day in days)
        expired |= gone > 0
        runs = cut_stretches(
            [stretch],
            need.by_stretch[f][s : s + 1],
            terms.shortage_costs[s : s + 1],
            arrivals=[None] * len(days),
            last_days=days,
        )
        course = follow(runs, need.by_stretch[f][s], gone)
        cost, short, chance = cost + course.cost, short + course.short, chance + course.chance
        left = course.left
        if s + 1 < len(need.stretches):
            needed = float(need.by_stretch[f][s] @ np.arange(need.whole.shape[-1]))
            later = find_end(need.stretches[s + 1])
            old = sum(day is not None and day < later for day in days)
            paid += float(terms.restock_prices[s]) * (needed - course.short + old)
            bought = None if shelf.days is None else end + timedelta(days=int(shelf.days))
            kept: list[date | None] = [*days[old:], *[bought] * old]
            days = sorted(kept, key=lambda day: date.max if day is None else day)
    if not expired:
        level = min(len(days), need.within.shape[-1] - 1)
        chance = 1.0 - float(need.within[f, level])
    chance = float(np.clip(chance, 0.0, 1.0))
    return Course(cost=cost, short=short, chance=chance, left=left), paid


def _make(
    need: PartDemand,
    terms: Terms,
    taken: tuple[int, int],
    course: Course,
    *,
    spare: int = 0,
    own_left: int = 0,
    worth: float | None = None,
    ahead: int = 0,
    port: str = "",
    restock_cost: float | None = None,
) -> Choice:
    """Put a choice together: `taken` is (carry, replace now), `worth` of one spare left."""
    n, f = taken
    credit = terms.credit if worth is None else worth
    later_cost = (
        terms.failing_cost * float(need.failures[f])
        + course.cost
        + (restock_cost or 0.0)
        + terms.fitting_cost * f
        - credit * (course.left + spare - terms.on_hand)
        - terms.credit * (float(need.remaining[f]) - need.remaining_now)
        + terms.find_used_up_cost(f)
    )
    return Choice(
        carry=n,
        replace_now=f,
        restock=restock_cost is not None,
        later_cost=later_cost,
        shortage_chance=course.chance,
        expected_shortages=course.short,
        expected_need=float(need.whole[f] @ np.arange(need.whole.shape[-1])),
        restock_cost=restock_cost or 0.0,
        used_up_cost=terms.find_used_up_cost(f),
        own_left=own_left,
        ahead=ahead,
        ahead_at=port if ahead else "",
    )
