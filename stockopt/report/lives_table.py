"""The table of `stockopt lives`: each part on two lines, what it is and then its numbers."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from stockopt.ageing.ageing import PartAgeing
from stockopt.report.fitted_now import SOON, FittedPiece, find_oldest
from stockopt.report.part_lives import part_names, pieces_watched
from stockopt.report.run import PartLives
from stockopt.report.terminal import indented
from stockopt.report.words import (
    ageing_text,
    best_age_text,
    brief,
    doubtful_text,
    hard_on_parts,
    range_text,
    share_text,
    standing_out,
    unit_text,
)

HEADERS = (
    ("failed", "mean life", "best age", "oldest", "fails"),
    ("", "(9 in 10)", "to change", "fitted", "soon"),
)
NO_PIECE = "-"
#: So many of the boats that fail their parts most often are named.
HARDEST = 5


def print_lives(console: Console, studied: PartLives) -> None:
    """Print how long each part lasts, when to change it, and which piece may fail next.

    Parameters
    ----------
    console
        Where to print: with bold names on a terminal, plain elsewhere.
    studied
        The parts.
    """
    names, watched, oldest = part_names(studied), pieces_watched(studied), find_oldest(studied)
    parts = studied.ageing.parts
    numbers = {
        part: _numbers(ageing, watched.get(part, 0), oldest.get(part))
        for part, ageing in parts.items()
    }
    widths = [max(map(len, column)) for column in zip(*HEADERS, *numbers.values(), strict=True)]
    console.print(Text(f"{studied.fleet.name}: how long parts last\n", style="bold"))
    for header in HEADERS:
        console.print(Text(_line(header, widths), style="bold"))
    for part, ageing in parts.items():
        head = Text(f"{part}", style="bold")
        head.append(f"  {names.get(part, '')}: {ageing_text(ageing)}", style="not bold")
        console.print(head)
        console.print(Text(_line(numbers[part], widths)))
        for words in standing_out(ageing):
            console.print(indented(Text(words), above=0, left=4))
    if boats := hard_on_parts(studied.ageing)[:HARDEST]:
        words = f"Hardest on their parts, times the usual rate of failing: {'; '.join(boats)}."
        console.print(indented(Text(words)))
    console.print(indented(Text(_how_to_read(len(studied.notes)))))


def _numbers(part: PartAgeing, watched: int, oldest: FittedPiece | None) -> tuple[str, ...]:
    unit = unit_text(part.clock)
    spread = range_text(part.mean_life_low, part.mean_life_high)
    return (
        f"{part.failures} of {watched}",
        f"{brief(part.mean_life)} {unit} ({spread})",
        best_age_text(part, fitted=oldest is not None),
        NO_PIECE if oldest is None else _short_age(oldest),
        NO_PIECE if oldest is None else share_text(oldest.chance),
    )


def _short_age(piece: FittedPiece) -> str:
    return f"{brief(piece.age)}{'' if piece.age_known else '+'} {unit_text(piece.clock)}"


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
    return f"  {'  '.join(padded).rstrip()}"


def _how_to_read(notes: int) -> str:
    return (
        "Failed: of the pieces watched. Mean life: the range in brackets holds the true one 9 "
        "times in 10. Best age to change: where a planned change costs least against failures; "
        "'run to failure' where none pays. Oldest fitted: the piece now in place that was seen to "
        "run longest (+: it is older). Fails soon: its chance of failing within the next "
        f"{SOON['hours']:.0f} h, or {SOON['days']:.0f} days, if left.\n"
        f"{doubtful_text(notes)}.\n"
        "One part in full: stockopt lives FLEET --part PART"
    )
