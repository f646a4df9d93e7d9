"""A planned fleet against seasons played out event by event: a second opinion on every number.

Nothing here calls the forecast or the weighing of choices; prices are read from the offers.
"""

from dataclasses import dataclass

import numpy as np
from audit_seasons import (
    GRADES,
    Seasons,
    can_restock,
    draw_lives,
    gather,
    play_part,
    run_clock,
    use_up_with,
    write_out,
)


@dataclass(frozen=True)
class Prices:
    """What one part costs one boat.

    By leg, of one piece short and of one restocked where the stretch ends; by grade, of a failure.
    """

    short: np.ndarray
    restock: np.ndarray
    failing: np.ndarray
    fitting: float
    unused: float


def price_part(fleet, boat, part, offers, grade, legs, ends):
    """Return the prices: `grade` is the gravest consequence, `ends` the legs that end a stretch."""
    settings = fleet.settings
    (row,) = fleet.parts[fleet.parts["part"] == part].to_dict("records")
    (owner,) = fleet.boats[fleet.boats["boat"] == boat].to_dict("records")
    home, has_store = owner["home_port"], owner["store"] != ""
    at_home = offers.offers.get((home, part), ())
    everywhere = [
        *(o.landed for (_, p), several in offers.offers.items() if p == part for o in several),
        *(there.price for (_, p), there in offers.at_port.items() if p == part),
        offers.price[part],
    ]

    def piece(port):
        if has_store and port == home and at_home:
            return min(o.landed for o in at_home)
        there = offers.at_port.get((port, part))
        return np.nan if there is None else there.price

    end_of = np.array([min(end for end in ends if end >= leg) for leg in range(len(legs))])
    pieces = np.array([piece(legs[end].to_port) for end in end_of])
    late = min((o.late_days for o in at_home), default=offers.wait_days.get(home, 14.0))
    at_sea = np.ones(len(legs))
    if row["clock"] == "days":  # what fails in port after a leg waits there, and no more
        at_sea = np.array([leg.days for leg in legs]) / run_clock(fleet, boat, legs, "", "days")
    lost = np.array(
        [
            share * leg.days / 2 + offers.wait_days.get(leg.to_port, 14.0)
            if np.isnan(leg.chase_days)
            else leg.chase_days + 0.1 * late
            for leg, share in zip(legs, at_sea, strict=True)
        ]
    )
    shares = np.array([settings.share(grade) for grade in GRADES])
    fix = settings.days_to_fix if np.isnan(row["days_to_fix"]) else row["days_to_fix"]
    return Prices(
        short=np.where(np.isnan(pieces), max(everywhere), pieces)
        + owner["day_cost"] * shares[grade] * lost,
        restock=pieces,
        failing=np.append(row["failure_cost"] + owner["day_cost"] * shares * fix, 0.0),
        fitting=row["fitting_cost"],
        unused=settings.carry_over * min([offers.price[part], *(o.landed for o in at_home)]),
    )


@dataclass(frozen=True)
class Played:
    """What one choice meant in every season; each (R,)."""

    need: np.ndarray
    short: np.ndarray
    restock_cost: np.ndarray
    later_cost: np.ndarray


def play_choice(seasons, events, prices, ends, *, carry, replace_now, restock, on_hand):
    """Live through every season with one choice, event by event in the order they come.

    `events` are all pieces needed; those of `seasons` failed or were due in positions of the part.
    """
    count, stretches = len(seasons.unspent), len(ends)
    stretch = np.searchsorted(ends, events.leg)
    order = np.lexsort((events.day, events.leg, events.season))
    season, leg, stretch = events.season[order], events.leg[order], stretch[order]
    spell = season * stretches + stretch if restock else season
    _, begins, lengths = np.unique(spell, return_index=True, return_counts=True)
    before = np.arange(len(spell)) - np.repeat(begins, lengths)
    is_short = before >= carry

    def add(values, of=season):
        return np.bincount(of, weights=values, minlength=count).astype(float)

    need, short = add(np.ones(len(season))), add(is_short.astype(float))
    last = stretch == stretches - 1 if restock else np.full(len(season), True)
    left = carry - add((~is_short & last).astype(float))
    made_up = ~is_short & ~last
    restock_cost = add(np.where(made_up, prices.restock[leg], 0.0)) if restock else np.zeros(count)
    failing = add(prices.failing[seasons.events.grade], seasons.events.season)
    ashore = max(on_hand - carry - replace_now, 0)
    unused = left + ashore - on_hand + seasons.unspent - seasons.unspent_now
    return Played(
        need=need,
        short=short,
        restock_cost=restock_cost,
        later_cost=failing
        + add(np.where(is_short, prices.short[leg], 0.0))
        + restock_cost
        + prices.fitting * replace_now
        - prices.unused * unused,
    )


@dataclass(frozen=True)
class Compared:
    """One number of a choice against the seasons.

    `error` is the standard error of what was seen. `timing` is, for a cost, what it could be off by
    if all pieces short fell on the dearest or the cheapest leg; `by_schedule` tells whether pieces
    are changed at an age.
    """

    boat: str
    part: str
    choice: tuple[int, int, bool]
    what: str
    told: float
    seen: float
    error: float
    timing: float
    by_schedule: bool

    @property
    def z(self):
        """Standard errors too high."""
        return (self.told - self.seen) / self.error


def audit_run(run, *, seasons, seed, boats=None, every_choice=False):
    """Play every boat of a run; return what was compared, and per boat (told, seen) readiness.

    Parameters
    ----------
    boats
        Only these.
    every_choice
        Compare every choice, not only those with the planned `replace_now`.
    """
    fleet, lives, ageing, offers, choices = (
        run.fleet,
        run.lives,
        run.ageing,
        run.offers,
        run.choices,
    )
    picked = {(pick.boat, pick.part): pick.choice for pick in run.solution.picked}
    rng = np.random.default_rng(seed)
    positions = lives.positions
    drawn = draw_lives(rng, ageing, set(positions["part"]), seasons)
    weighed = {
        (part.boat, part.part): part for part in choices.parts if not choices.is_shelf(part.boat)
    }
    compared, readiness = [], {}
    for boat in sorted({boat for boat, _ in weighed} & set(boats or choices.boats)):
        legs = write_out(fleet, boat)
        unready = np.zeros(seasons, dtype=bool)
        told_ready = 1.0
        at_hand = _play_boat(rng, fleet, boat, positions, drawn, ageing, legs, {})
        for (_, part), of_part in sorted(k for k in weighed.items() if k[0][0] == boat):
            taken = picked[boat, part]
            replace = {of_part.choices[taken].replace_now}
            if every_choice:
                replace = {choice.replace_now for choice in of_part.choices}
            for f in sorted(replace):
                played = at_hand
                if f:
                    again = {part: f}
                    played = _play_boat(
                        rng, fleet, boat, positions, drawn, ageing, legs, again, only=part
                    )
                own, events, ends, prices = _set_out(
                    fleet, boat, part, played, at_hand, offers, legs
                )
                for index, choice in enumerate(of_part.choices):
                    if choice.replace_now != f:
                        continue
                    kind = {n: getattr(choice, n) for n in ("carry", "replace_now", "restock")}
                    found = play_choice(own, events, prices, ends, on_hand=of_part.on_hand, **kind)
                    compared += _compare(boat, part, choice, found, prices, _due(fleet, part))
                    if index == taken and of_part.stops:
                        unready |= found.short > 0
                        told_ready *= 1.0 - choice.shortage_chance
        readiness[boat] = told_ready, 1.0 - unready.mean()
    return compared, readiness


def _play_boat(rng, fleet, boat, positions, drawn, ageing, legs, replaced, only=None):
    mine = positions[positions["boat"] == boat]
    played = {}
    for part, rows in mine.groupby("part"):
        if only in (None, part):
            shape, scale = drawn[part]
            scale = scale * ageing.boat_factors.get(boat, 1.0) ** (-1.0 / shape)
            rows = rows.to_dict("records")
            played[part] = play_part(
                rng, fleet, boat, rows, (shape, scale), legs, replaced.get(part, 0)
            )
    return played


def _set_out(fleet, boat, part, played, as_found, offers, legs):
    """Return the part's own seasons, all pieces of it needed, its stretches' ends, its prices."""
    zero = np.zeros(len(next(iter(as_found.values())).unspent))
    usual = dict(zip(fleet.parts["part"], fleet.parts["consequence"], strict=True))[part]
    own = played.get(part) or Seasons(
        events=gather([]), grade=GRADES.index(usual), unspent=zero, unspent_now=zero
    )
    used = fleet.used_with[fleet.used_with["part"] == part]
    uses = [
        (as_found[other].events, int(quantity))
        for other, quantity in zip(used["with_part"], used["quantity"], strict=True)
        if other in as_found
    ]
    ends = [
        place
        for place, leg in enumerate(legs)
        if place == len(legs) - 1 or can_restock(fleet, boat, part, leg.to_port)
    ]
    prices = price_part(fleet, boat, part, offers, own.grade, legs, ends)
    return own, use_up_with(own.events, uses), np.array(ends), prices


def _due(fleet, part):
    (every,) = fleet.parts[fleet.parts["part"] == part]["replace_every"]
    return bool(every > 0)


def _compare(boat, part, choice, found, prices, by_schedule):
    count = len(found.need)
    rare = choice.shortage_chance + 4 / count
    timing = float(np.ptp(prices.short)) * choice.expected_shortages
    # Where little that is rare was drawn the spread seen is too small: take that of what is told.
    seldom = choice.expected_need + 4 / count if choice.expected_need < 0.05 else 0.0
    dearest = np.nan_to_num(prices.restock).max()
    lines = [
        ("pieces needed", choice.expected_need, found.need, seldom, 0.0),
        ("pieces short", choice.expected_shortages, found.short, rare, 0.0),
        ("chance of a shortage", choice.shortage_chance, found.short > 0, 4 / count, 0.0),
        # What parts used up with it bear is in their own later cost as well.
        (
            "later cost",
            choice.later_cost - choice.used_up_cost,
            found.later_cost,
            rare * prices.short.max() ** 2,
            timing,
        ),
        (
            "restock cost",
            choice.restock_cost,
            found.restock_cost,
            seldom * dearest**2,
            0.0,
        ),
    ]
    for what, told, seen, least, off in lines:
        spread = max(float(np.var(seen.astype(float))), least)
        yield Compared(
            boat=boat,
            part=part,
            choice=(choice.carry, choice.replace_now, choice.restock),
            what=what,
            told=told,
            seen=float(seen.mean()),
            error=float(np.sqrt(spread / count)) + 1e-9,
            timing=off,
            by_schedule=by_schedule,
        )
