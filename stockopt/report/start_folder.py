"""A fleet to fill in as a folder of CSV files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from stockopt.fleet.columns import Column
from stockopt.report.files import Write
from stockopt.report.start_forms import Form, describe, describe_rate

#: Where the help of a folder stands; it is no table, and not read.
HELP_FILE = "how_to_fill_in.txt"


def list_folder_files(
    forms: tuple[Form, ...], settings: tuple[tuple[Column, object], ...]
) -> list[tuple[str, Write]]:
    """Return the files of the folder by name, each with what writes it to a path."""
    files = [(f"{form.name}.csv", _writer(_header(form))) for form in forms]
    files.append(("settings.toml", _writer("".join(_list_settings(settings)))))
    files.append((HELP_FILE, _writer("".join(_list_help(forms)))))
    return files


def _writer(text: str) -> Write:
    def write(path: Path) -> None:
        path.write_text(text, encoding="utf-8")

    return write


def _header(form: Form) -> str:
    return ",".join(column.name for column in form.columns) + "\n"


def _list_settings(settings: tuple[tuple[Column, object], ...]) -> Iterator[str]:
    yield "# What holds for the whole plan. Take away the # before a line to set it.\n"
    for column, default in settings:
        yield f"\n# {column.help}\n# {column.name} = {_example(column, default)}\n"
    yield f"\n# [rates]\n# {describe_rate()}\n# USD = 0.92\n"


def _example(column: Column, default: object) -> str:
    """Return the value a setting has anyway, else one that shows how it is written."""
    if isinstance(default, str):
        return f'"{default}"'
    if isinstance(default, float):
        return f"{default:g}"
    return {"date": "2031-04-01", "share": "0.95"}.get(column.kind, "4000")


def _list_help(forms: tuple[Form, ...]) -> Iterator[str]:
    yield "How to fill in the tables: one row a line below the header, comma between cells.\n"
    yield "Days as 2031-04-01, numbers with a decimal point. When done: stockopt check FOLDER\n"
    for form in forms:
        yield f"\n{form.name}.csv{' (needed)' if form.required else ''}\n  {form.help}\n"
        width = max(len(column.name) for column in form.columns)
        for column in form.columns:
            yield f"    {column.name:<{width}}  {describe(column)}\n"
