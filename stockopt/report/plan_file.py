"""Plans read back from the JSON they were written to."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from stockopt import __version__
from stockopt.errors import StockoptError
from stockopt.report.plain_numbers import Keys
from stockopt.units import MassUnit, Measures, VolumeUnit

Found = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFile:
    """One plan as its JSON tells it; each line as its keys.

    Parameters
    ----------
    name
        Of the file, as it was named.
    keys
        Everything.
    boats
        By boat.
    carry
        By boat and part.
    orders
        By source, place and part.
    charges
        By source and place.
    stores
        By store and part.
    what_if
        By option and value: in words.
    measures
        The units in which people read masses and room; all numbers here are kg and litres. None
        where the file does not say.
    """

    name: str
    keys: Found
    boats: Mapping[Hashable, Found]
    carry: Mapping[Hashable, Found]
    orders: Mapping[Hashable, Found]
    charges: Mapping[Hashable, Found]
    stores: Mapping[Hashable, Found]
    what_if: Mapping[Hashable, str]
    measures: Measures | None

    def cost(self, name: str) -> float:
        """Return `spend_now`, `expected_later` or `total`."""
        return float(self.keys["cost"][name])

    @property
    def doubt(self) -> float:
        """By how much money, at most, a better plan may cost less; 0 where none does."""
        bound = self.keys["bound"]
        return 0.0 if bound is None else max(0.0, self.cost("total") - float(bound))


def read_plan_file(path: Path) -> PlanFile:
    """Read a plan written by ``stockopt plan --json``.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    StockoptError
        It is no plan, or was written by another version; says which of the two, and what to do.
    OSError
        It cannot be read.
    """
    keys = _load(path)
    _refuse_others(keys, path)
    try:
        return _gather(keys, str(path))
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise StockoptError(
            f"{path} is not whole: {_what_is_missing(error)}. Plan again with --json {path.name}."
        ) from None


def refuse_unlike(first: PlanFile, second: PlanFile) -> None:
    """Refuse to compare plans of two fleets that share no boat, or in two kinds of money.

    Tables copied and changed to see what that does have another name and the same boats.

    Raises
    ------
    StockoptError
        Says in what they differ.
    """
    for what, name in (("fleets", "fleet"), ("currencies", "currency")):
        one, other = first.keys[name], second.keys[name]
        shared = name == "fleet" and set(first.boats) & set(second.boats)
        if one != other and not shared:
            raise StockoptError(
                f"The plans are of two {what} and cannot be compared: {one} in {first.name}, "
                f"{other} in {second.name}."
            )


def find_measures(first: PlanFile, second: PlanFile) -> Measures:
    """Return the units in which two plans are told: the second's, where it says them."""
    return second.measures or first.measures or Measures()


def _load(path: Path) -> Keys:
    try:
        keys = json.loads(path.read_bytes().decode("utf-8-sig"))
    except (ValueError, RecursionError):
        raise StockoptError(f"{path} is not JSON. {_WHAT_IS_RIGHT}") from None
    if not isinstance(keys, dict):
        raise StockoptError(f"{path} is not a plan. {_WHAT_IS_RIGHT}")
    return keys


_WHAT_IS_RIGHT = "Give two files written by: stockopt plan FLEET --json FILE"


def _refuse_others(keys: Keys, path: Path) -> None:
    if "stockopt" not in keys:
        raise StockoptError(f"{path} was not written by stockopt. {_WHAT_IS_RIGHT}")
    if keys["stockopt"] != __version__:
        raise StockoptError(
            f"{path} was written by stockopt {keys['stockopt']}, this is {__version__}: the same "
            "tables may give other numbers. Plan again with this version."
        )
    if keys.get("status") == "no plan":
        raise StockoptError(f"{path} holds no plan: no plan kept all the limits.")
    if "carry" not in keys:
        raise StockoptError(f"{path} is no plan, but what another command wrote. {_WHAT_IS_RIGHT}")


def _gather(keys: Keys, name: str) -> PlanFile:
    for amount in ("spend_now", "expected_later", "total"):
        float(keys["cost"][amount])
    for needed in ("fleet", "currency", "planned_on", "bound"):
        keys[needed]
    for needed in ("what_if", "limits"):
        if not isinstance(keys[needed], list):
            raise TypeError(needed)
    for needed in ("carry", "replace_now", "buy", "moved", "kg", "litres"):
        for line in keys["carry"]:
            float(line[needed])
    for line in keys["orders"]:
        float(line["pieces"]), float(line["landed"]), float(line["packs"])
    return PlanFile(
        name=name,
        keys=keys,
        boats=_by(keys["boats"], lambda line: line["boat"]),
        carry=_by(keys["carry"], lambda line: (line["boat"], line["part"])),
        orders=_by(keys["orders"], lambda line: (line["source"], line["place"], line["part"])),
        charges=_by(keys["charges"], lambda line: (line["source"], line["place"])),
        stores=_by(keys["stores"], lambda line: (line.get("store") or line["place"], line["part"])),
        what_if={(one["option"], one["value"]): one["text"] for one in keys["what_if"]},
        measures=_gather_measures(keys),
    )


def _gather_measures(keys: Keys) -> Measures | None:
    if "mass_unit" not in keys or "volume_unit" not in keys:
        return None
    for name, units in (("mass_unit", get_args(MassUnit)), ("volume_unit", get_args(VolumeUnit))):
        if keys[name] not in units:
            raise ValueError(name)
    return Measures(mass=keys["mass_unit"], volume=keys["volume_unit"])


def _by(lines: list[Keys], key: Callable[[Keys], Hashable]) -> dict[Hashable, Found]:
    """Return the lines by their key; an order may have several packs of one part."""
    found: dict[Hashable, Found] = {}
    for line in lines:
        name = key(line)
        if name in found:
            first = found[name]
            if "pieces" not in first:
                raise ValueError(name)
            line = _join(first, line)
        found[name] = line
    return found


def _join(first: Found, second: Found) -> Keys:
    """Return two lines of one order for one part, in packs of two sizes, as one."""
    pieces = first["pieces"] + second["pieces"]
    landed = first["landed"] * first["pieces"] + second["landed"] * second["pieces"]
    return {
        **first,
        "packs": first["packs"] + second["packs"],
        "pieces": pieces,
        "landed": landed / pieces if pieces else first["landed"],
    }


def _what_is_missing(error: Exception) -> str:
    return f"it lacks {error}" if isinstance(error, KeyError) else "some of its lines are broken"
