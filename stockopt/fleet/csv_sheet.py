"""From the bytes of a CSV file to a sheet of text, whoever wrote the file."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Collection
from dataclasses import dataclass, replace

from stockopt.errors import Note, Problem
from stockopt.fleet.sheet import Finding, Sheet, beyond_header, sheet_of_rows, word

_SEPARATORS = ";,\t"
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
_MARKED = {
    codecs.BOM_UTF8: "utf-8",
    codecs.BOM_UTF16_LE: "utf-16-le",
    codecs.BOM_UTF16_BE: "utf-16-be",
}
_ZIP_MARK = b"PK\x03\x04"
_WHAT_WIDTH_IS_RIGHT = (
    "stands beyond the last heading: write a text that holds the separator between quotation "
    "marks, and numbers with a decimal point"
)


def parse_csv(data: bytes, label: str, known: Collection[str]) -> Sheet:
    """Split a CSV file into cells.

    Parameters
    ----------
    data
        The file: UTF-8 with or without byte order mark, UTF-16 with one, or Windows text
        (cp1252), which is noted. Separated by semicolons, commas or tabs.
    label
        Its name, for messages.
    known
        The headings that may be expected; the separator that finds most of them is taken.

    Returns
    -------
    Sheet
        Its row numbers are those of a spreadsheet, where a cell may span several lines.
    """
    text, findings = _decode(data, label)
    if text.startswith("sep="):
        text = text.partition("\n")[2]
    separator = _separator(text, known)
    rows, problem = _split(text, separator, label)
    if problem is not None:
        findings.append(problem)
    findings += [
        Problem(table=label, row=number, value=rest, expected=_WHAT_WIDTH_IS_RIGHT)
        for number, rest in beyond_header(rows).items()
    ]
    return replace(
        sheet_of_rows(rows, label, findings),
        decimal_comma=separator == ";",
        too_wide=_too_wide(rows),
    )


def _too_wide(rows: list[list[str]]) -> frozenset[int]:
    """Return the rows with more cells than the first row that is not blank."""
    width = next((len(row) for row in rows if any(map(str.strip, row))), 0)
    return frozenset(number for number, row in enumerate(rows, start=1) if len(row) > width)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a CSV file is written, so that it can be written so again.

    Parameters
    ----------
    encoding
        As Python names it, without a byte order mark.
    lead
        What stands before the first row: the mark, and a line ``sep=;``; mostly empty.
    separator
        Between cells.
    """

    encoding: str
    lead: str
    separator: str


def find_dialect(data: bytes, known: Collection[str]) -> tuple[Dialect, str]:
    """Return how a CSV file is written, and its text without the lead; as :func:`parse_csv`."""
    text, findings = _decode(data, "")
    encoding, lead = ("cp1252" if findings else "utf-8"), ""
    for mark, marked in _MARKED.items():
        if data.startswith(mark):
            encoding, lead = marked, "\ufeff"
    if text.startswith("sep="):
        first, end, text = text.partition("\n")
        lead += first + end
    return Dialect(encoding=encoding, lead=lead, separator=_separator(text, known)), text


def _decode(data: bytes, label: str) -> tuple[str, list[Finding]]:
    """Return the text of the file, and a note where the alphabet had to be guessed."""
    if data.startswith(_ZIP_MARK):
        return "", [
            Problem(table=label, expected="is a workbook, not text: save it as CSV (UTF-8)")
        ]
    if data.startswith(_UTF16_MARKS):
        return data.decode("utf-16", errors="replace"), []
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        note = Note(
            table=label,
            text="is not UTF-8 and was read as Windows text (cp1252): check letters with accents",
        )
        return data.decode("cp1252", errors="replace"), [note]


def _separator(text: str, known: Collection[str]) -> str:
    """Return the separator whose first line holds most of the known headings."""
    first = next((line for line in text.splitlines() if line.strip(';,\t "')), "")

    def score(separator: str) -> tuple[int, int]:
        cells = next(csv.reader([first], delimiter=separator), [])
        return sum(word(cell) in known for cell in cells), len(cells)

    return max(_SEPARATORS, key=score)


def _split(text: str, separator: str, label: str) -> tuple[list[list[str]], Problem | None]:
    """Return the rows, and a problem where a quotation mark went astray."""
    rows: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True):
            rows.append(row)  # noqa: PERF402 - the rows before a fault are wanted
    except csv.Error:
        return rows, Problem(
            table=label,
            row=len(rows) + 1,
            expected="a quotation mark is astray: a cell that holds one is written between "
            'quotation marks, the inner one twice, as in "hose 3/4"""',
        )
    return rows, None
