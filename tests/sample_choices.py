"""The choices of the sample fleets, as the program gets them."""

from functools import cache
from pathlib import Path

from stockopt.choices.choices import Choices
from stockopt.pipeline import plan_fleet

SAMPLES = Path(__file__).parents[1] / "sample_fleet"


@cache
def choices_of(sample: str) -> Choices:
    """Return the choices of a sample fleet's plan."""
    return plan_fleet(SAMPLES / sample, {}, lambda _: None).choices
