"""Tables to fill in, for a person who has none yet."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stockopt.report.files import WORKBOOK_ENDING, write_files
from stockopt.report.start_folder import list_folder_files
from stockopt.report.start_forms import list_forms, list_settings

#: Endings of files that hold tables, which nobody gives a folder.
_OTHER_ENDINGS = frozenset({".csv", ".xls", ".xlsm", ".ods", ".numbers", ".txt", ".tsv"})


def refuse_start(path: Path, *, overwrite: bool) -> str | None:
    """Return why nothing can be started at `path`, None where it can.

    Files of a folder are never replaced: they may hold a fleet. A workbook is with `overwrite`.
    """
    if path.suffix.casefold() == WORKBOOK_ENDING:
        if path.is_dir():
            return f"'{path}' is a folder"
        if not path.absolute().parent.is_dir():
            return f"there is no folder '{path.parent}'"
        if path.exists() and not overwrite:
            return f"'{path}' is there already; add --overwrite to replace it"
        return None
    if path.is_file():
        return f"'{path}' is a file: give a folder, or a workbook ending in {WORKBOOK_ENDING}"
    if path.suffix.casefold() in _OTHER_ENDINGS and not path.is_dir():
        right = path.with_suffix(WORKBOOK_ENDING).name
        return f"'{path.name}' is neither a workbook nor a folder: give {right} or {path.stem}"
    if not path.absolute().parent.is_dir():
        return f"there is no folder '{path.parent}'"
    if path.is_dir():
        here = {file.name.casefold() for file in path.iterdir()}
        names = [name for name, _ in list_folder_files(list_forms(one_boat=False), ())]
        taken = [name for name in names if name in here]
        if taken:
            return f"'{path}' holds {taken[0]} already: give a new folder"
    return None


def write_start(path: Path, *, one_boat: bool, overwrite: bool) -> tuple[Path, ...]:
    """Write empty tables with help.

    Parameters
    ----------
    path
        A folder to make or fill, or a workbook ending in .xlsx.
    one_boat
        True for the few columns that one boat needs.
    overwrite
        True to replace a workbook that is there.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    OSError
        Where a file cannot be written; then none is.
    """
    forms, settings = list_forms(one_boat=one_boat), list_settings(one_boat=one_boat)
    if path.suffix.casefold() == WORKBOOK_ENDING:
        from stockopt.report.start_workbook import write_start_workbook  # loads openpyxl

        write_files([(path, partial(write_start_workbook, forms, settings))], overwrite=overwrite)
        return (path,)
    files = [(path / name, write) for name, write in list_folder_files(forms, settings)]
    write_files(files, overwrite=False)
    return tuple(file for file, _ in files)
