"""The choices for one part on one boat that could be best, as the program takes them up."""

from __future__ import annotations

from dataclasses import dataclass
from operator import le

from stockopt.choices.choices import BoatPart, Choice, Choices


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One choice that could be best.

    Parameters
    ----------
    index
        Of the choice in its :class:`~stockopt.choices.choices.BoatPart`.
    choice
        The choice itself.
    wanted
        Pieces that her own stock does not cover.
    """

    index: int
    choice: Choice
    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Uses:
    """What else hangs on the choice made for a part.

    Parameters
    ----------
    feeds
        True where pieces replaced now use up another part.
    spares
        True where her own pieces left ashore are of use for something else.
    """

    feeds: bool
    spares: bool


class _Burdens:
    """What each option of a part asks of what is limited, or shared with others."""

    def __init__(self, part: BoatPart, choices: Choices, uses: Uses) -> None:
        limits = choices.boats[part.boat]
        self._part = part
        self._uses = uses
        self._heavy = (limits.kg is not None and part.kg > 0.0) or (
            limits.litres is not None and part.litres > 0.0
        )
        self._risky = part.stops and choices.readiness is not None
        self._ports = sorted({choice.ahead_at for choice in part.choices if choice.ahead})

    def find(self, option: Option) -> tuple[float, ...]:
        """Return quantities of which less is never worse, the same ones for every option."""
        choice = option.choice
        return (
            option.wanted,
            -self._part.count_spare(choice) if self._uses.spares else 0,
            choice.replace_now if self._uses.feeds else 0,
            *(choice.ahead if choice.ahead_at == port else 0 for port in self._ports),
            choice.aboard if self._heavy else 0,
            choice.shortage_chance if self._risky else 0.0,
            choice.later_cost,
        )


def list_options(
    part: BoatPart, choices: Choices, uses: Uses, *, can_bring: bool
) -> tuple[Option, ...]:
    """Keep the choices that no other is at least as good as in every limit and in cost.

    Parameters
    ----------
    part, choices
        The part on its boat, and the limits.
    uses
        What else hangs on it.
    can_bring
        False where nothing can bring a piece beyond her own.
    """
    burdens = _Burdens(part, choices, uses)
    options = [
        Option(index=index, choice=choice, wanted=part.count_wanted(choice))
        for index, choice in enumerate(part.choices)
    ]
    # Sorted by burden, an option can only be beaten by one that stands before it.
    weighed = sorted(
        ((burdens.find(option), option) for option in options),
        key=lambda pair: (
            pair[0],
            pair[1].choice.carry,
            pair[1].choice.replace_now,
            pair[1].choice.restock,
            pair[1].choice.ahead_at,
        ),
    )
    met = {ahead.port: any(offer.most != 0 for offer in ahead.offers) for ahead in part.ahead}
    kept: list[Option] = []
    kept_burdens: list[tuple[float, ...]] = []
    for mine, option in weighed:
        if option.wanted and not can_bring:
            continue
        if option.choice.ahead and not met.get(option.choice.ahead_at):
            continue
        if not any(all(map(le, better, mine)) for better in kept_burdens):
            kept.append(option)
            kept_burdens.append(mine)
    return tuple(kept)
