"""One part in full: its numbers, its tests, its curves and each of its lives."""

from __future__ import annotations

import difflib
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd
from rich.console import Console
from rich.table import Table
from rich.text import Text

from stockopt.ageing.ageing import PartAgeing
from stockopt.errors import StockoptError
from stockopt.report.chart import WIDTH, draw_chart, marks_for
from stockopt.report.fitted_now import FittedPiece, find_oldest
from stockopt.report.part_lives import part_names
from stockopt.report.run import PartLives
from stockopt.report.survival import Curves, draw_curves
from stockopt.report.terminal import indented, plain_table
from stockopt.report.words import (
    ageing_text,
    brief,
    day_text,
    pieces_text,
    range_text,
    share_text,
    unit_text,
)

Life = Mapping[Hashable, Any]

#: At most so many near matches are named.
NEAR = 5
#: Least likeness of a near match, from 0 to 1.
LIKENESS = 0.6
#: Reasons of the lives table that are no words of the replacements table.
ENDINGS = {"running": "still running", "failed": "failed", "unknown": "changed, not known why"}
BEFORE = "not seen"


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePart:
    """One part picked out of a fleet.

    Parameters
    ----------
    fleet, name
        Names of the fleet and of the part.
    ageing
        How it ages.
    lives
        Its rows of the lives table.
    oldest
        Its oldest piece now fitted; None where none is.
    curves
        Its survival.
    """

    fleet: str
    name: str
    ageing: PartAgeing
    lives: pd.DataFrame
    oldest: FittedPiece | None
    curves: Curves


def pick_part(studied: PartLives, wanted: str) -> OnePart:
    """Return one part of a fleet.

    Parameters
    ----------
    studied
        The fleet's parts.
    wanted
        Its number, in any capitals, or one of its aliases.

    Raises
    ------
    StockoptError
        Where there is no such part; names those that are near.
    """
    part = _find_number(studied, wanted)
    ageing = studied.ageing.parts[part]
    lives = studied.lives.lives
    lives = lives[lives["part"] == part]
    return OnePart(
        fleet=studied.fleet.name,
        name=part_names(studied).get(part, ""),
        ageing=ageing,
        lives=lives,
        oldest=find_oldest(studied).get(part),
        curves=draw_curves(ageing, lives, WIDTH),
    )


def _find_number(studied: PartLives, wanted: str) -> str:
    aliases = studied.fleet.aliases
    text = wanted.strip()
    if text in studied.ageing.parts:
        return text
    numbers = {part.casefold(): part for part in studied.ageing.parts}
    others: dict[str, str] = {
        other.casefold(): part
        for other, part in zip(aliases["other"], aliases["part"], strict=True)
        if part in studied.ageing.parts
    }
    found = {**others, **numbers}.get(text.casefold())
    if found is not None:
        return found
    near = _near(text.casefold(), numbers, part_names(studied))
    named = "\n".join(f"  {line}" for line in near)
    hint = f"\n\nNear to it:\n\n{named}" if near else "\n\nstockopt lives FLEET lists all parts."
    raise StockoptError(f"There is no part '{wanted}' in {studied.fleet.name}.{hint}")


def _near(text: str, numbers: Mapping[str, str], names: Mapping[str, str]) -> list[str]:
    """Return parts whose number or name has the text in it, then those of like numbers."""
    within = [
        part
        for folded, part in numbers.items()
        if text and (text in folded or text in names.get(part, "").casefold())
    ]
    alike = [
        numbers[folded]
        for folded in difflib.get_close_matches(text, list(numbers), n=NEAR, cutoff=LIKENESS)
    ]
    near = list(dict.fromkeys([*within, *alike]))[:NEAR]
    return [f"{part}  {names.get(part, '')}".rstrip() for part in near]


def print_part(console: Console, part: OnePart) -> None:
    """Print one part in full."""
    console.print(Text(f"{part.fleet}: {part.ageing.part}  {part.name}", style="bold"))
    facts = Table.grid(padding=(0, 2))
    for subject, words in list_facts(part):
        facts.add_row(subject, Text(words))
    console.print(indented(facts))
    unit = unit_text(part.ageing.clock)
    chart = draw_chart(part.curves, unit, marks_for(console.encoding))
    console.print(indented(Text("Share of pieces that last to an age", style="bold")))
    console.print(indented(Text("\n".join(chart), no_wrap=True), above=0, left=0))
    if not part.lives.empty:
        console.print(indented(_lives_table(part)))


def list_facts(part: OnePart) -> list[tuple[str, str]]:
    """Return what is known of a part, by subject, in words."""
    ageing, unit = part.ageing, unit_text(part.ageing.clock)
    spread = range_text(ageing.mean_life_low, ageing.mean_life_high)
    shape = range_text(ageing.shape_low, ageing.shape_high)
    unknown = len(part.lives) - int(part.lives["age_known"].sum())
    left_out = f"; {unknown} of unknown age, left out of the curve" if unknown else ""
    facts = [
        (
            "Records",
            f"{ageing.failures} failed of {pieces_text(len(part.lives))} watched, in "
            f"{ageing.exposure:,.0f} {unit}{left_out}",
        ),
        ("Mean life", f"{brief(ageing.mean_life)} {unit} ({spread}, 9 times in 10)"),
        ("Ages", f"{ageing_text(ageing)}: shape {brief(ageing.shape, 2)} ({shape})"),
        ("Best age", _best_age(part)),
    ]
    if part.oldest is not None:
        facts.append(
            (
                "Oldest fitted",
                f"{part.oldest.where}: {part.oldest.age_words}; its chance of failing within "
                f"{part.oldest.span:.0f} {unit} is {share_text(part.oldest.chance)}",
            )
        )
    if ageing.tests is not None:
        facts += [
            ("Trend", ageing.tests.trend),
            ("Boats", ageing.tests.boats),
            ("Wear", ageing.tests.wear),
            ("Newest", ageing.tests.newest),
        ]
    return [*facts, ("Beforehand", ageing.prior)]


def _best_age(part: OnePart) -> str:
    if part.oldest is None:
        return "none: no piece is fitted now"
    best = part.ageing.best_age
    return "not known: the part has no price" if best is None else best.words


def _lives_table(part: OnePart) -> Table:
    unit = unit_text(part.ageing.clock)
    lives = part.lives.sort_values(["boat", "machine", "fitted_on", "slot", "ended_on"])
    several = bool((lives["slot"] > 1).any())
    number = ("No.",) if several else ()
    table = plain_table(
        "Boat", "Machine", *number, "From", "To", f"Age, {unit}", "How it ended", right={"No."}
    )
    records: list[Life] = [*lives.to_dict("records")]
    for life in records:
        table.add_row(
            Text(life["boat"]),
            Text(life["machine"]),
            *((f"{life['slot']}",) if several else ()),
            day_text(life["began_on"]) or BEFORE,
            day_text(life["ended_on"]),
            life_ages(life),
            ENDINGS.get(life["reason"], life["reason"]),
        )
    return table


def life_ages(life: Life) -> str:
    """Return the ages over which a piece was watched."""
    if not life["age_known"]:
        return f"at least {brief(life['left'])}"
    if life["entered"] > 0:
        return f"{brief(life['entered'])} to {brief(life['left'])}"
    return brief(life["left"])
