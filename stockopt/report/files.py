"""Putting finished files in place: beside first, then moved, never over a file unless told to."""

from __future__ import annotations

import itertools
import os
import re
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from datetime import date
from pathlib import Path

Write = Callable[[Path], None]

REPORTS = "reports"
WORKBOOK_ENDING = ".xlsx"
#: Files in a fleet's folder that are its tables.
READ_ENDINGS = frozenset({".csv", ".toml"})
#: ... and those that may be their originals.
TABLE_ENDINGS = frozenset({".csv", ".toml", ".xlsx"})


def find_refusals(
    fleet: Path, targets: Mapping[str, Path], *, overwrite: bool
) -> Iterator[tuple[str, str]]:
    """Yield why files could not or should not be written, before any work is done.

    Parameters
    ----------
    fleet
        The fleet's folder or workbook, whose tables are never replaced.
    targets
        By option of the command line: the file it names.
    overwrite
        True where files that are there may be replaced.

    Yields
    ------
    tuple of (str, str)
        The option, and why its file is refused.
    """
    seen: set[Path] = set()
    for option, path in targets.items():
        real = path.resolve()
        if option == "--report" and path.suffix.lower() != WORKBOOK_ENDING:
            yield option, f"'{path}' must end in {WORKBOOK_ENDING}"
        if real in seen:
            yield option, f"'{path}' is named twice"
        seen.add(real)
        if not real.parent.is_dir():
            yield option, f"there is no folder '{path.parent}'"
        if path.exists() and _is_table(real, fleet.resolve()):
            yield option, f"'{path}' is one of the fleet's own tables"
        if not path.exists() and _would_be_read(real, fleet.resolve()):
            yield option, f"'{path}' would be read as one of the fleet's tables"
        if path.exists() and not overwrite:
            yield option, f"'{path}' is there already; add --overwrite to replace it"


def _is_table(path: Path, fleet: Path) -> bool:
    return path == fleet or (path.parent == fleet and path.suffix.lower() in TABLE_ENDINGS)


def _would_be_read(path: Path, fleet: Path) -> bool:
    return path.parent == fleet and path.suffix.lower() in READ_ENDINGS


def default_report(
    fleet: str, planned_on: date, *, overwrite: bool, supposes: bool = False
) -> Path:
    """Return where the report goes when nobody said: reports/<fleet>-<day>.xlsx, or -2, -3 ...

    Parameters
    ----------
    fleet
        Name of the fleet; characters that file names cannot hold become dashes.
    planned_on
        Day of the plan.
    overwrite
        True to take the first name even where a file has it.
    supposes
        True for a plan that is not the plain one: reports/<fleet>-<day>-what-if.xlsx.
    """
    name = re.sub(r'[/\\:*?"<>|\x00-\x1f]', "-", fleet).strip(" .") or "fleet"
    stem = f"{name}-{planned_on.isoformat()}{'-what-if' if supposes else ''}"
    first = Path(REPORTS) / f"{stem}{WORKBOOK_ENDING}"
    if overwrite or not first.exists():
        return first
    later = (first.with_name(f"{stem}-{count}{WORKBOOK_ENDING}") for count in itertools.count(2))
    return next(path for path in later if not path.exists())


def write_files(files: Sequence[tuple[Path, Write]], *, overwrite: bool) -> None:
    """Write every file beside its place, then move all of them in.

    Either all of them are written or, where one cannot be, none is moved.

    Parameters
    ----------
    files
        Where each goes, and what writes it to the path it is given.
    overwrite
        False to raise FileExistsError rather than replace a file.

    Raises
    ------
    OSError
        Where a file cannot be written; nothing was replaced.
    """
    with ExitStack() as tidy, ExitStack() as taken:
        ready = []
        for path, write in files:
            path.parent.mkdir(parents=True, exist_ok=True)
            beside = path.with_name(f".{path.stem}-{secrets.token_hex(4)}{path.suffix}")
            tidy.callback(beside.unlink, missing_ok=True)
            try:
                write(beside)
            except OSError as error:
                error.filename = str(path)  # the name the person knows
                raise
            ready.append((beside, path))
        if not overwrite:
            # Taking the names first closes the gap in which somebody else could take one.
            for _, path in ready:
                path.open("x").close()
                taken.callback(path.unlink, missing_ok=True)
        for beside, path in ready:
            os.replace(beside, path)  # noqa: PTH105 - the atomic move itself
        taken.pop_all()
