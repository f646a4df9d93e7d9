"""What seasons played out say of a plan, as one value."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockopt.units import Paper

#: Half width of a 95 % interval, in standard errors.
SIGMAS_95 = 1.96
#: A number is called different from what was told beyond this many standard errors: among some
#: hundreds of numbers, one goes beyond by chance about once in 40 rehearsals.
SIGMAS_DIFFERENT = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One number over all seasons: its mean, and a 95 % interval for that mean."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One number of the plan against the seasons.

    Parameters
    ----------
    what
        In words.
    kind
        money, share or number.
    told
        By the plan.
    seen
        In the seasons.
    agrees
        False where they differ by more than sampling explains.
    """

    what: str
    kind: str
    told: float
    seen: Seen
    agrees: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatRehearsed:
    """One boat.

    Parameters
    ----------
    boat
        Which.
    readiness, shortages
        Told and seen.
    money
        What she pays after departure and for changes before it, on average.
    bad_money
        The same in bad seasons.
    """

    boat: str
    readiness: Compared
    shortages: Compared
    money: float
    bad_money: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRehearsed:
    """One part over all boats.

    Parameters
    ----------
    part, name
        Which.
    need, fill_rate
        Pieces needed, and the share of them met by a spare aboard, told and seen; no fill rate
        where hardly any piece is needed.
    money, bad_money
        As for a boat.
    """

    part: str
    name: str
    need: Compared
    fill_rate: Compared | None
    money: float
    bad_money: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRehearsed:
    """One number of one part on one boat; `why` it may differ, "" where no reason is known."""

    boat: str
    part: str
    compared: Compared
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How seasons differ in the money that goes out in all, what is spent now included.

    Parameters
    ----------
    quantiles
        (share of seasons, money that so many do not exceed), ascending.
    edges, seasons
        (n + 1) and n: a histogram. The last class takes all that is dearer.
    """

    quantiles: tuple[tuple[float, float], ...]
    edges: tuple[float, ...]
    seasons: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A plan or a rule on the same seasons as others.

    Parameters
    ----------
    name
        Which.
    spend_now
        Money before departure.
    total
        Spent now and later, less what spares and lives stay worth.
    bad_out
        Money going out that 9 seasons in 10 do not exceed.
    readiness
        Share of seasons in which no boat meets a shortage of a part that stops her.
    least_ready
        The same of the boat that has least of it.
    shortages
        Pieces short.
    broken
        Limits of the tables that are broken, in words; none of a plan's.
    """

    name: str
    spend_now: float
    total: Seen
    bad_out: float
    readiness: Seen
    least_ready: float
    shortages: Seen
    broken: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRehearsed:
    """A rule of thumb against the plan, and against a plan made with the rule's money.

    Parameters
    ----------
    rule
        The rule.
    same_money
        The plan that costs least with no more spent now than the rule spends; None where there is
        none.
    saves
        By how much that plan is cheaper in all than the rule, on the same seasons; below 0 where
        the rule is cheaper.
    plan_saves
        The same of the plan itself.
    """

    rule: Side
    same_money: Side | None
    saves: Seen | None
    plan_saves: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChanged:
    """A line that a plan made for other circumstances would have otherwise.

    Each of `before` and `after` is (carry, replace_now, restock, bought from).
    """

    boat: str
    part: str
    name: str
    before: tuple[int, int, bool, str]
    after: tuple[int, int, bool, str]

    @property
    def only_source(self) -> bool:
        """Whether nothing but where it is bought differs."""
        return self.before[:3] == self.after[:3]


@dataclass(frozen=True, slots=True, kw_only=True)
class StressRehearsed:
    """The plan under worse circumstances, and one made for them.

    Parameters
    ----------
    what
        The circumstances, in words.
    plan
        The plan as it stands.
    replanned
        The plan made knowing them; None where no plan keeps the limits then.
    why_none
        What clashes where there is none.
    changes
        Lines that differ between the two.
    """

    what: str
    plan: Side
    replanned: Side | None
    why_none: tuple[str, ...]
    changes: tuple[LineChanged, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """A plan played through seasons drawn from what the records tell. Money in `currency`.

    Parameters
    ----------
    fleet, planned_on, currency
        As in the plan.
    seasons, seed
        How many, and what they were drawn by.
    totals
        The plan's totals.
    boats, parts
        In the order of the plan; parts that cost most first.
    differing, compared
        Numbers of single lines that differ beyond sampling error, and how many were compared.
    spread
        How seasons differ.
    bad_from
        A season is bad where more than this goes out: 1 in 10 is.
    plan
        The plan beside the rules.
    rules, stresses
        As far as asked for.
    paper
        What it is printed on.
    """

    fleet: str
    planned_on: date
    currency: str
    seasons: int
    seed: int
    totals: tuple[Compared, ...]
    boats: tuple[BoatRehearsed, ...]
    parts: tuple[PartRehearsed, ...]
    differing: tuple[LineRehearsed, ...]
    compared: int
    spread: Spread
    bad_from: float
    plan: Side
    rules: tuple[RuleRehearsed, ...] = ()
    stresses: tuple[StressRehearsed, ...] = ()
    paper: Paper = "a4"
