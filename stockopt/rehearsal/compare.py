"""What the plan told against what the seasons showed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from stockopt.plan import CarryLine, Plan
from stockopt.rehearsal.calendar import Bools, Floats
from stockopt.rehearsal.played import LineSeen, Tally
from stockopt.rehearsal.policy import Policy
from stockopt.rehearsal.rehearsal import (
    SIGMAS_95,
    SIGMAS_DIFFERENT,
    BoatRehearsed,
    Compared,
    LineRehearsed,
    PartRehearsed,
    Rehearsal,
    Seen,
    Side,
    Spread,
)

#: Bad seasons: the dearest of so many.
BAD = 0.1
#: Quantiles told of the money going out.
QUANTILES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99)
#: Classes of the histogram; the dearest seasons, so many, are all in the last.
CLASSES = 24
BEYOND = 0.005
#: Fewer pieces than this over all boats make no fill rate.
FEWEST_PIECES = 0.05
#: Why some lines may be told wrongly.
WITH_CHANGED = "used up with parts that are replaced now, and the plan's rounds did not agree"
EXPIRING = (
    "some spares expire under way: there the plan takes each need to fall by itself, a piece from "
    "a store to keep no longer than one bought today, and all that would not last to the next "
    "chance to be replaced there, used or not"
)
#: A sum rounded in a file may be off by so much, as a share of 1 piece or of 1 in money.
ROUNDING = 0.006


def see_mean(values: Floats) -> Seen:
    """Return the mean of a number over the seasons (R,), with its interval."""
    mean = float(values.mean())
    half = SIGMAS_95 * _error(values)
    return Seen(mean=mean, low=mean - half, high=mean + half)


def see_share(happened: Bools) -> Seen:
    """Return the share of seasons (R,) in which something happened, with Wilson's interval.

    *Source*: Wilson, Journal of the American Statistical Association 22 (1927), from memory.
    """
    count, share, z = len(happened), float(happened.mean()), SIGMAS_95
    centre = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(share * (1 - share) / count + (z / count / 2) ** 2)
    return Seen(mean=share, low=max(centre - half, 0.0), high=min(centre + half, 1.0))


def compare_plan(
    plan: Plan,
    policy: Policy,
    tally: Tally,
    *,
    used_with: Iterable[tuple[str, str]],
    from_shelves: frozenset[tuple[str, str]],
    seed: int,
) -> Rehearsal:
    """Compare everything that a plan tells with the seasons it was played through.

    Parameters
    ----------
    plan
        What was told.
    policy, tally
        The same plan as it was played, and what it came to.
    used_with
        Every part that is used up with another, and that other.
    from_shelves
        Boats and parts that a store's shelf stands behind. What pieces from it cost is settled
        between them, so that their costs are compared in all and not line by line.
    seed
        What the seasons were drawn by.
    """
    out = money_out(policy, tally)
    bad_from = float(np.quantile(out, 1.0 - BAD))
    bad = out > bad_from
    names = {line.part: line.name for line in plan.carry}
    lines = [
        line
        for line in _compare_lines(plan, tally, _list_with_changed(plan, used_with))
        if line.compared.kind != "money" or (line.boat, line.part) not in from_shelves
    ]
    return Rehearsal(
        fleet=plan.fleet,
        planned_on=plan.planned_on,
        currency=plan.currency,
        seasons=len(out),
        seed=seed,
        totals=tuple(_compare_totals(plan, policy, tally)),
        boats=tuple(_compare_boats(plan, tally, bad)),
        parts=tuple(_compare_parts(plan, tally, bad, names)),
        differing=tuple(line for line in lines if not line.compared.agrees),
        compared=len(lines),
        spread=find_spread(out),
        bad_from=bad_from,
        plan=take_side(policy, tally),
    )


def money_out(policy: Policy, tally: Tally) -> Floats:
    """Return the money that goes out in each season, now and later: (R,)."""
    return np.asarray(policy.spend_now + tally.money().sum(axis=0) + tally.stores)


def total_cost(policy: Policy, tally: Tally) -> Floats:
    """Return what each season costs in all, less what spares and lives stay worth: (R,)."""
    return policy.spend_now + tally.later()


def take_side(policy: Policy, tally: Tally, broken: Sequence[str] = ()) -> Side:
    """Return what is told of a policy beside others."""
    return Side(
        name=policy.name,
        spend_now=policy.spend_now,
        total=see_mean(total_cost(policy, tally)),
        bad_out=float(np.quantile(money_out(policy, tally), 1.0 - BAD)),
        readiness=see_share(tally.ready()),
        least_ready=float(1.0 - tally.stopped.mean(axis=1).max(initial=0.0)),
        shortages=see_mean(tally.missing.sum(axis=0)),
        broken=tuple(broken),
    )


def find_spread(out: Floats) -> Spread:
    """Return the quantiles and the histogram of what goes out in each season."""
    top = float(np.quantile(out, 1.0 - BEYOND))
    low = float(out.min())
    edges = np.linspace(low, max(top, low + 1.0), CLASSES + 1)
    seasons, _ = np.histogram(np.minimum(out, edges[-1]), edges)
    return Spread(
        quantiles=tuple((share, float(np.quantile(out, share))) for share in QUANTILES),
        edges=tuple(edges.tolist()),
        seasons=tuple(seasons.tolist()),
    )


def _error(values: Floats) -> float:
    return float(values.std()) / math.sqrt(len(values))


def _compare(what: str, kind: str, told: float, seen: Seen, error: float) -> Compared:
    """Return one number told and seen; rounding of what was told is no difference."""
    allowed = SIGMAS_DIFFERENT * error + ROUNDING * (1.0 if kind == "money" else 0.01)
    agrees = abs(told - seen.mean) <= allowed
    return Compared(what=what, kind=kind, told=told, seen=seen, agrees=agrees)


def _compare_mean(what: str, kind: str, told: float, values: Floats) -> Compared:
    return _compare(what, kind, told, see_mean(values), _error(values))


def _compare_share(what: str, told: float, happened: Bools) -> Compared:
    """Compare a chance; its sampling error is that of what was told or seen, the greater."""
    share = float(happened.mean())
    spread = max(told * (1.0 - told), share * (1.0 - share), 4.0 / len(happened))
    return _compare(what, "share", told, see_share(happened), math.sqrt(spread / len(happened)))


def _compare_totals(plan: Plan, policy: Policy, tally: Tally) -> Iterator[Compared]:
    cost, later = plan.cost, tally.later()
    need, missing = tally.need.sum(axis=0), tally.missing.sum(axis=0)
    told_need = sum(line.expected_need for line in plan.carry)
    told_short = sum(line.expected_shortages for line in plan.carry)
    spent = np.full(len(later), policy.spend_now)
    yield _compare_mean("spent now", "money", cost.spend_now, spent)
    yield _compare_mean("expected later", "money", cost.expected_later, later)
    yield _compare_mean("together", "money", cost.total, later + policy.spend_now)
    yield _compare_mean("pieces needed", "number", told_need, need)
    yield _compare_mean("pieces short", "number", told_short, missing)
    if told_need > FEWEST_PIECES:
        yield _compare_ratio("fill rate", told_need, told_short, need, missing)
    told_ready = math.prod(boat.readiness for boat in plan.boats)
    yield _compare_share("all boats ready", told_ready, tally.ready())


def _compare_ratio(
    what: str, told_need: float, told_short: float, need: Floats, missing: Floats
) -> Compared:
    """Compare the share of the pieces needed that a spare met: a ratio of two means.

    Its error is that of missing less its usual share of need, over the mean need (delta method).
    """
    mean = max(float(need.mean()), 1e-12)
    share = float(missing.mean()) / mean
    error = max(_error(missing - share * need) / mean, math.sqrt(4.0 / len(need)) / len(need))
    seen = Seen(
        mean=1.0 - share,
        low=max(1.0 - share - SIGMAS_95 * error, 0.0),
        high=min(1.0 - share + SIGMAS_95 * error, 1.0),
    )
    return _compare(what, "share", 1.0 - told_short / max(told_need, 1e-12), seen, error)


def _compare_boats(plan: Plan, tally: Tally, bad: Bools) -> Iterator[BoatRehearsed]:
    money = tally.money()
    for boat in plan.boats:
        row = tally.boats.index(boat.boat)
        yield BoatRehearsed(
            boat=boat.boat,
            readiness=_compare_share("readiness", boat.readiness, ~tally.stopped[row]),
            shortages=_compare_mean(
                "pieces short", "number", boat.expected_shortages, tally.missing[row]
            ),
            money=float(money[row].mean()),
            bad_money=float(money[row][bad].mean()) if bad.any() else float(money[row].mean()),
        )


def _compare_parts(
    plan: Plan, tally: Tally, bad: Bools, names: dict[str, str]
) -> list[PartRehearsed]:
    told: dict[str, list[CarryLine]] = defaultdict(list)
    for line in plan.carry:
        told[line.part].append(line)
    parts = []
    for part, lines in told.items():
        row = tally.parts.index(part)
        money = tally.part_money[row].astype(np.float64)
        need, missing = (
            values[row].astype(np.float64) for values in (tally.part_need, tally.part_missing)
        )
        told_need = sum(line.expected_need for line in lines)
        told_short = sum(line.expected_shortages for line in lines)
        fill = None
        if min(told_need, float(need.mean())) > FEWEST_PIECES:
            fill = _compare_ratio("fill rate", told_need, told_short, need, missing)
        parts.append(
            PartRehearsed(
                part=part,
                name=names[part],
                need=_compare_mean("pieces needed", "number", told_need, need),
                fill_rate=fill,
                money=float(money.mean()),
                bad_money=float(money[bad].mean()) if bad.any() else float(money.mean()),
            )
        )
    return sorted(parts, key=lambda one: (-one.bad_money + one.money, one.part))


def _list_with_changed(
    plan: Plan, used_with: Iterable[tuple[str, str]]
) -> frozenset[tuple[str, str]]:
    """Return by boat and part what is used up with a part that the plan replaces now.

    Nothing where the plan's rounds agreed: what is told of it counts with that then.
    """
    if plan.rounds.agreed:
        return frozenset()
    changed = {(line.boat, line.part) for line in plan.carry if line.replace_now}
    pairs = list(used_with)
    return frozenset(
        (boat, part) for boat, other in changed for part, with_part in pairs if with_part == other
    )


def _compare_lines(
    plan: Plan, tally: Tally, with_changed: frozenset[tuple[str, str]]
) -> Iterator[LineRehearsed]:
    """Compare every line's need, pieces short, chance of a shortage and later cost."""
    seasons = tally.need.shape[1]
    seen = {(line.boat, line.part): line for line in tally.lines}
    for line in plan.carry:
        mine = seen[line.boat, line.part]
        why = WITH_CHANGED if (line.boat, line.part) in with_changed else ""
        why = EXPIRING if mine.expires else why
        for what, kind, told, (mean, error) in _told_and_seen(line, mine):
            # Where little that is rare was drawn, the error seen is too small.
            rare = told if kind != "money" else line.shortage_chance
            least = math.sqrt((max(rare, 0.0) + 4.0 / seasons) / seasons)
            wide = max(error, least * (mine.dearest if kind == "money" else 1.0))
            half = SIGMAS_95 * wide
            interval = Seen(mean=mean, low=mean - half, high=mean + half)
            yield LineRehearsed(
                boat=line.boat,
                part=line.part,
                why=why,
                compared=_compare(what, kind, told, interval, wide),
            )


def _told_and_seen(
    line: CarryLine, seen: LineSeen
) -> Iterator[tuple[str, str, float, tuple[float, float]]]:
    yield "pieces needed", "number", line.expected_need, seen.need
    yield "pieces short", "number", line.expected_shortages, seen.short
    yield "chance of a shortage", "share", line.shortage_chance, seen.chance
    yield "later cost", "money", line.expected_cost, seen.cost
