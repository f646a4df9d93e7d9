"""How many pieces of each part were foretold to fail in the whole fleet, and how many did."""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stockopt.ageing.ageing import Ageing
from stockopt.demand.counts import NEW, Position, count_needs
from stockopt.demand.demand import Floats
from stockopt.demand.mixture import add_needs, find_chances, trim
from stockopt.demand.weibull import WeibullLives
from stockopt.lives.lives import Lives
from stockopt.lives.machines import day_numbers
from stockopt.lookback.season import Meter, Past

#: Lengths are rounded by at most this share, so that like ones are counted together.
_ALIKE = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """One position between two changes that were planned: how old it was, how long it then ran."""

    boat: str
    position: Position
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Foretold:
    """One part over the whole fleet and season.

    Parameters
    ----------
    part
        Which.
    chances
        (K + 1,): chance that k pieces fail; of more on K.
    actual
        Pieces that failed.
    exposure
        What its pieces ran together, on its clock.
    """

    part: str
    chances: Floats
    actual: int
    exposure: float


Place = tuple[str, str, str, int]


def foretell(past: Past, then: Lives, ageing: Ageing, seen: Lives) -> tuple[Foretold, ...]:
    """Return what was foretold of each part on the day looked back to, and what came.

    Parameters
    ----------
    past
        The season.
    then
        The positions on that day.
    ageing
        What the records before it tell of each part's life.
    seen
        The lives as they are known now.

    Notes
    -----
    The hours that were run and the changes that were planned are taken as they came: asked is only
    how many pieces fail in between. So what a boat did otherwise than planned counts neither for
    the forecast nor against it. Pieces of one part share what is not known of its life: they are
    added over the fleet given each node of its posterior, and mixed after that.
    """
    spells, failed = _cut_spells(past, then, seen)
    told = []
    for part in sorted(spells):
        nodes = ageing.parts[part].nodes
        total = np.ones((1, len(nodes.weight), 1))
        alike: dict[float, list[Spell]] = defaultdict(list)
        for spell in spells[part]:
            alike[ageing.boat_factors.get(spell.boat, 1.0)].append(spell)
        for factor, some in sorted(alike.items()):
            life = nodes.on_boat(factor)
            lives = WeibullLives(shape=life.shape, scale=life.scale, change_at=math.inf)
            for chances in count_failures_in(lives, nodes.weight, some):
                total = trim(add_needs(total, chances), nodes.weight)
        told.append(
            Foretold(
                part=part,
                chances=np.asarray((nodes.weight @ total)[:, 0]),
                actual=failed[part],
                exposure=sum(spell.length for spell in spells[part]),
            )
        )
    return tuple(told)


def count_failures_in(lives: WeibullLives, weight: Floats, spells: Sequence[Spell]) -> list[Floats]:
    """Return for each spell the chances of its failures given each node: (K + 1, J, 1)."""
    rounded = [_round(spell.length) for spell in spells]
    lengths = sorted(set(rounded))
    positions = list(dict.fromkeys([NEW, *(spell.position for spell in spells)]))
    windows = [(0.0, lengths[-1]), *((0.0, length) for length in lengths)]
    at_least = count_needs(lives, weight, windows, positions).at_least
    chances = [find_chances([window]) for window in at_least[1:]]
    return [
        chances[lengths.index(length)][positions.index(spell.position)]
        for length, spell in zip(rounded, spells, strict=True)
    ]


def _round(length: float) -> float:
    return math.exp(round(math.log(length) / (2.0 * _ALIKE)) * 2.0 * _ALIKE)


def _cut_spells(
    past: Past, then: Lives, seen: Lives
) -> tuple[Mapping[str, list[Spell]], Counter[str]]:
    """Return the spells of each part, and its failures in them."""
    ended = _find_ends(past, seen)
    spells: dict[str, list[Spell]] = defaultdict(list)
    failed: Counter[str] = Counter()
    for row in then.positions.to_dict("records"):
        meter = past.meters.get((row["boat"], row["machine"]))
        if meter is None:
            continue
        by_hours = row["clock"] == "hours"

        def reach(day: int, meter: Meter = meter, by_hours: bool = by_hours) -> float:
            return meter.run(past.begins, day) if by_hours else float(day - past.begins)

        place = (row["boat"], row["machine"], row["part"], int(row["slot"]))
        mine = [end for end in ended.get(place, []) if end.day <= meter.last]
        cuts = [0.0, *(reach(end.day) for end in mine if end.planned), reach(meter.last)]
        known = not math.isnan(row["age"])
        age = row["age"] if known else row["age_at_least"]
        position = Position(age=0.0 if math.isnan(age) else float(age), known=known)
        watched = False
        for begin, end in itertools.pairwise(cuts):
            if end > begin:
                spell = Spell(boat=row["boat"], position=position, length=end - begin)
                spells[row["part"]].append(spell)
                watched = True
            position = NEW
        if watched:
            failed[row["part"]] += sum(not end.planned for end in mine)
    return spells, failed


class _End(NamedTuple):
    """A life that ended in the season."""

    day: int
    planned: bool


def _find_ends(past: Past, seen: Lives) -> Mapping[Place, list[_End]]:
    """Return the ends of lives in each place, by day."""
    table = seen.lives[seen.lives["row"] > 0]
    ends: dict[Place, list[_End]] = defaultdict(list)
    for boat, machine, part, slot, failed, day in zip(
        *(table[name] for name in ("boat", "machine", "part", "slot", "failed")),
        day_numbers(table["ended_on"]),
        strict=True,
    ):
        if day is not None and day > past.begins:
            ends[boat, machine, part, int(slot)].append(_End(day, not failed))
    return {place: sorted(some) for place, some in ends.items()}


def list_used(lives: Lives) -> Mapping[str, float]:
    """Return what the pieces of each part ran while they were watched, on its clock."""
    table = lives.lives
    run = (table["left"] - table["entered"]).groupby(table["part"]).sum()
    return {str(part): float(total) for part, total in run.items()}
