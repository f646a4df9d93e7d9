"""The report's verb: one run, its files."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stockopt.report.files import Write, default_report, write_files
from stockopt.report.json_file import lives_keys, one_part_keys, plan_keys, write_json
from stockopt.report.one_part import OnePart
from stockopt.report.order_files import list_order_files
from stockopt.report.phone import write_phone_page
from stockopt.report.plain_numbers import Keys
from stockopt.report.run import PartLives, Run
from stockopt.report.workbook import write_workbook


def write_report(
    run: Run,
    *,
    workbook: Path | None,
    json_file: Path | None,
    page: Path | None = None,
    orders: Path | None = None,
    overwrite: bool,
) -> tuple[tuple[str, Path], ...]:
    """Write the workbook, and the JSON and the page for a phone where asked for.

    Parameters
    ----------
    run
        What to report.
    workbook
        Where it goes; None for the usual place, where no file is ever replaced unasked.
    json_file
        Where the JSON goes; None for none.
    page
        Where the page goes; None for none.
    orders
        The folder that each purchase order goes to; None for none.
    overwrite
        True to replace files that are there.

    Returns
    -------
    tuple of (str, Path)
        What each file is, and where.

    Raises
    ------
    OSError
        Where a file cannot be written; nothing was replaced.
    """
    plan = run.plan
    supposes = bool(plan.what_if.list_options())
    report = workbook or default_report(
        plan.fleet, plan.planned_on, overwrite=overwrite, supposes=supposes
    )
    files: list[tuple[str, Path, Write]] = [("Report", report, partial(write_workbook, run))]
    if json_file is not None:
        files.append(("JSON", json_file, partial(write_json, plan_keys(run))))
    if page is not None:
        files.append(("Page", page, partial(write_phone_page, run)))
    if orders is not None:
        files += list_order_files(run, orders)
    write_files([(path, write) for _, path, write in files], overwrite=overwrite)
    return tuple((what, path) for what, path, _ in files)


def write_lives(
    studied: PartLives,
    one: OnePart | None,
    *,
    json_file: Path | None,
    picture: Path | None,
    overwrite: bool,
) -> None:
    """Write how long parts last, as far as asked for; errors as for :func:`write_report`.

    Parameters
    ----------
    studied
        The parts.
    one
        The only one that was asked for; None for all.
    json_file, picture
        Where the JSON and the picture of the one part go; None for none.
    overwrite
        True to replace files that are there.
    """
    files: list[tuple[Path, Write]] = []
    if json_file is not None:
        keys = lives_keys(studied) if one is None else one_part_keys(studied, one)
        files.append((json_file, partial(write_json, keys)))
    if picture is not None and one is not None:
        from stockopt.report.picture import write_picture  # needs what few have installed

        files.append((picture, partial(write_picture, one)))
    write_files(files, overwrite=overwrite)


def write_keys(keys: Keys, path: Path, *, overwrite: bool) -> None:
    """Write keys and plain values as one JSON file; errors as for :func:`write_report`."""
    write_files([(path, partial(write_json, keys))], overwrite=overwrite)
