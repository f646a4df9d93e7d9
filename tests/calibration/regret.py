"""What not knowing the true lives costs: the plan made from records against the plan of who knows.

Both plans are priced with the true lives: the price of the second taken from the first is the
regret. The fleets are those of :mod:`calibration.world` with 8 years behind them, of which the
planner sees the last few, and these prices (all ours, written down before the first run):

* A piece costs 5 to 500, log-uniform; a lost day 200 to 1,000 for the whole boat. A third each of
  the parts stops the boat, limits her, is a nuisance. A failure costs 0 to 100, changing one 20.
* Half of the fleets charter: 20 weeks that end at home, where a mail order takes 10 days (20 late)
  and the store reaches them within 2 days. The others go on a passage of three legs to ports where
  everything costs three times as much and takes 10 days. Mail order costs 40 an order and 0.8 of
  the home price; the shop at home sells everything.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import timedelta
from unittest import mock

import numpy as np
import pandas as pd
from calibration.world import PLANNED_ON, SEASON_DAYS, TENFOLD, World, draw_world
from lives_builders import make_unchecked_fleet

from stockopt.ageing.ageing import Ageing, Nodes
from stockopt.ageing.fit import fit_ageing
from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.choices.weigh import weigh_choices
from stockopt.demand.forecast import forecast_demand
from stockopt.fleet.fleet import Fleet
from stockopt.lives.build import build_lives
from stockopt.lives.lives import Lives
from stockopt.program.pick import find_costs
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program
from stockopt.settings import Settings
from stockopt.sourcing import price_offers

HISTORIES = (1, 2, 4, 8)
_ALL_YEARS = 8.0
_MOST_BOATS = 4
_GAP = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class Regret:
    """One fleet, planned from some years of its records.

    `best` is the true expected cost of the plan made with the truth, `cost` that of the plan made
    from the records; `slack` what the solver left unproven of the first.
    """

    fleet: int
    years: int
    best: float
    cost: float
    slack: float

    @property
    def share(self) -> float:
        return (self.cost - self.best) / self.best


def study_regret(
    seeds: Iterable[int], histories: Iterable[int] = HISTORIES, told_within: float = TENFOLD
) -> list[Regret]:
    """Plan each fleet from the last years of its records, and price the plans with the truth."""
    return [
        regret for seed in seeds for regret in _study_fleet(seed, tuple(histories), told_within)
    ]


def _study_fleet(seed: int, histories: tuple[int, ...], told_within: float) -> list[Regret]:
    world = draw_world(seed, told_within, years=_ALL_YEARS, most_boats=_MOST_BOATS)
    world = put_to_work(world, seed)
    found = []
    for years in histories:
        fleet = see_last(world.fleet, years)
        lives = build_lives(fleet)
        ageing = fit_ageing(lives, fleet)
        truth = know_truth(ageing, world)
        chosen = weigh(ageing, lives, fleet)
        guessed = solve_program(chosen, gap=_GAP, seconds=60.0)
        true_choices = weigh(truth, lives, fleet)
        best = solve_program(true_choices, gap=_GAP, seconds=60.0)
        with every_choice_kept():
            everything = weigh(truth, lives, fleet)
        found.append(
            Regret(
                fleet=seed,
                years=years,
                best=best.objective,
                cost=price_with(guessed, chosen, everything),
                slack=best.objective - best.bound,
            )
        )
    return found


def weigh(ageing: Ageing, lives: Lives, fleet: Fleet) -> Choices:
    demand = forecast_demand(ageing, lives, fleet)
    return weigh_choices(demand, price_offers(fleet), lives, fleet)


def know_truth(ageing: Ageing, world: World) -> Ageing:
    """Return what who knows every part's shape and scale would take for its posterior."""
    parts = {
        part: replace(
            ageing.parts[part],
            nodes=Nodes(
                shape=np.array([true.shape]), scale=np.array([true.scale]), weight=np.array([1.0])
            ),
        )
        for part, true in world.truth.items()
    }
    return replace(ageing, parts={**ageing.parts, **parts}, boat_factors={})


@contextmanager
def every_choice_kept() -> Iterator[None]:
    """Leave no choice out as useless or beaten, as long as it lasts."""

    def keep(criteria: np.ndarray) -> np.ndarray:
        return np.ones(len(criteria), dtype=bool)

    def look_at_all(net_cost: np.ndarray, _: object) -> np.ndarray:
        return np.full(len(net_cost), net_cost.shape[-1])

    with (
        mock.patch("stockopt.choices.aboard.find_undominated", keep),
        mock.patch("stockopt.choices.lasting_choices.find_undominated", keep),
        mock.patch("stockopt.choices.aboard.find_last_useful", look_at_all),
    ):
        yield


def price_with(solution: Solution, chosen: Choices, true: Choices) -> float:
    """Return what a plan costs in truth: the same pieces, orders and choices, true chances.

    Parameters
    ----------
    solution, chosen
        The plan, and the choices it was made from.
    true
        All choices, weighed with the true lives.
    """
    made_from = {(part.boat, part.part): part for part in chosen.parts}
    priced = {(part.boat, part.part): part for part in true.parts}
    picked = []
    for pick in solution.picked:
        key = (pick.boat, pick.part)
        priced[key], number = _find_choice(priced[key], made_from[key].choices[pick.choice])
        picked.append(replace(pick, choice=number))
    true = replace(true, parts=tuple(priced[part.boat, part.part] for part in true.parts))
    return sum(find_costs(true, picked, solution.bought, solution.free_freight))


def _find_choice(part: BoatPart, like: Choice) -> tuple[BoatPart, int]:
    """Return the part and the number of its choice that does the same as another's.

    Where so many can never be needed, one more choice: each piece beyond the last that could be is
    left over for sure. Where nothing is carried, or needed, there is nothing to make up on the way.
    """
    assert part.on_hand == 0

    def list_like(restock: bool) -> list[tuple[int, int]]:
        return [
            (choice.carry, number)
            for number, choice in enumerate(part.choices)
            if (choice.replace_now, choice.restock) == (like.replace_now, restock)
        ]

    there = list_like(like.restock and like.carry > 0) or list_like(restock=False)
    same = [number for carry, number in there if carry == like.carry]
    if same:
        return part, same[0]
    most, number = max(there)
    assert most < like.carry
    nearest = part.choices[number]
    surplus = part.leftover * (like.carry - most)
    added = replace(nearest, carry=like.carry, later_cost=nearest.later_cost - surplus)
    return replace(part, choices=(*part.choices, added)), len(part.choices)


def see_last(fleet: Fleet, years: int) -> Fleet:
    """Return the fleet as a planner knows it who began to write down some years ago."""
    began = pd.Timestamp(PLANNED_ON - timedelta(days=365 * years))
    joined = fleet.boats["joined_on"].fillna(began).clip(lower=began)
    return replace(
        fleet,
        boats=fleet.boats.assign(joined_on=joined),
        readings=fleet.readings[fleet.readings["read_on"] >= began],
        replacements=fleet.replacements[fleet.replacements["on"] >= began],
    )


def put_to_work(world: World, seed: int) -> World:
    """Return the world with prices, sources and a season that costs something."""
    rng = np.random.default_rng([7, seed])
    fleet = world.fleet
    charters = bool(rng.random() < 0.5)
    count = len(fleet.parts)
    parts = fleet.parts.assign(
        price=np.round(np.exp(rng.uniform(np.log(5.0), np.log(500.0), count)), 2),
        consequence=rng.choice(["stops", "limits", "nuisance"], count),
        failure_cost=np.round(rng.uniform(0.0, 100.0, count), 2),
        fitting_cost=20.0,
    )
    boats = fleet.boats.assign(
        day_cost=np.round(rng.uniform(200.0, 1000.0, len(fleet.boats)), 0), home_port="Home"
    )
    rest = make_unchecked_fleet(
        Settings(planned_on=PLANNED_ON),
        **_list_trade(parts, charters),
        **_list_legs(fleet, charters),
    )
    changed = replace(
        fleet,
        parts=parts,
        boats=boats,
        legs=rest.legs,
        leg_hours=rest.leg_hours,
        sources=rest.sources,
        prices=rest.prices,
        ports=rest.ports,
    )
    return replace(world, fleet=changed)


def _list_trade(parts: pd.DataFrame, charters: bool) -> dict[str, list[dict]]:
    sources = [
        {"source": "Shop", "kind": "local", "delivers_to": "Home"},
        {
            "source": "Post",
            "kind": "mail",
            "delivers_to": "Home",
            "lead_days": 10,
            "late_days": 20,
            "per_order": 40,
        },
    ]
    prices = [
        {"source": source, "part": part, "price": round(price * factor, 2)}
        for source, factor in (("Shop", 1.0), ("Post", 0.8))
        for part, price in zip(parts["part"], parts["price"], strict=True)
    ]
    names = ["Home"] if charters else ["First", "Second", "Third"]
    ports = [{"port": name, "price_factor": 3.0, "wait_days": 10} for name in names]
    return {"sources": sources, "prices": prices, "ports": ports}


def _list_legs(fleet: Fleet, charters: bool) -> dict[str, list[dict]]:
    """Share the season's hours out over 20 charters or 3 passages, 30 days from the plan's."""
    legs: list[dict] = []
    leg_hours: list[dict] = []
    first = PLANNED_ON + timedelta(days=30)
    count, ports = (20, ["Home"]) if charters else (3, ["First", "Second", "Third"])
    days = SEASON_DAYS / count
    for leg in fleet.legs.to_dict("records"):
        own = fleet.leg_hours[fleet.leg_hours["boat"] == leg["boat"]].to_dict("records")
        for number, port in enumerate(ports):
            departs_on = first + timedelta(days=round(number * days))
            key = {"boat": leg["boat"], "departs_on": departs_on}
            charter = {"times": count, "chase_days": 2} if charters else {}
            legs.append(
                {**key, "days": days, "to_port": port, "hours": leg["hours"] / count, **charter}
            )
            leg_hours += [
                {**key, "machine": row["machine"], "hours": row["hours"] / count} for row in own
            ]
    return {"legs": legs, "leg_hours": leg_hours}


def table_of(regrets: list[Regret]) -> str:
    """Return mean regret by years of records as a Markdown table, for the README."""
    frame = pd.DataFrame(
        {
            "years": [one.years for one in regrets],
            "share": [one.share for one in regrets],
            "money": [one.cost - one.best for one in regrets],
            "best": [one.best for one in regrets],
        }
    )
    lines = [
        "| years of records | fleets | mean regret | median | 1 in 10 above | of all money |",
        "|---|---|---|---|---|---|",
    ]
    for years, rows in frame.groupby("years"):
        share, of_all = rows["share"], rows["money"].sum() / rows["best"].sum()
        cells = (share.mean(), share.median(), share.quantile(0.9), of_all)
        lines.append(f"| {years} | {len(rows)} | {' | '.join(f'{cell:.1%}' for cell in cells)} |")
    return "\n".join(lines)
