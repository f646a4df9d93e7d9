"""What a report is made from: the values of every room, held only to show them."""

from __future__ import annotations

from dataclasses import dataclass

from stockopt.ageing.ageing import Ageing
from stockopt.choices.choices import Choices
from stockopt.demand.demand import Demand
from stockopt.errors import Note, Problem
from stockopt.fleet.fleet import Fleet
from stockopt.landed.landed import NO_PORTS, Landed
from stockopt.lives.lives import Lives
from stockopt.lives.wishes import Wish
from stockopt.orders.orders import NO_ORDERS, Orders
from stockopt.plan import Plan
from stockopt.program.solution import Solution
from stockopt.sourcing import Offers
from stockopt.why.why import NO_WHY, Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A whole run, from the tables to the plan. No room reads it; only the report does."""

    fleet: Fleet
    lives: Lives
    ageing: Ageing
    demand: Demand
    offers: Offers
    choices: Choices
    solution: Solution
    plan: Plan
    landed: Landed = NO_PORTS
    why: Why = NO_WHY
    orders: Orders = NO_ORDERS


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLives:
    """A run that stops at how long parts last, with all notes met so far."""

    fleet: Fleet
    lives: Lives
    ageing: Ageing
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A run that stops once every table was read and every life and offer could be made."""

    fleet: Fleet
    notes: tuple[Note, ...]
    wishes: tuple[Wish, ...] = ()
    unfilled: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A run that compares local shops with mail order."""

    fleet: Fleet
    landed: Landed
    notes: tuple[Note, ...]
