"""The workbook on paper, by a spreadsheet program, where there is one."""

import re
import shutil
import subprocess
from dataclasses import dataclass, replace

import numpy as np
import pytest
from report_builders import make_run, make_store_line, with_many_lines

from stockopt.report.workbook import list_sheets, sheet_names, write_workbook
from stockopt.why.why import Curve, CurvePoint

pytestmark = pytest.mark.skipif(
    not all(map(shutil.which, ("libreoffice", "pdftotext", "pdftoppm"))),
    reason="LibreOffice or the tools for PDF are not installed",
)
#: Dots per inch of pictures of pages, and points per dot.
DPI = 72
#: Grey that only bars of charts are filled with, and how far off it may come out.
BAR_GREY, NEAR = 0x40, 6


@dataclass(frozen=True)
class Printed:
    """A workbook as printed: its file, and of each page its text and its size in points."""

    folder: object
    pages: list
    sizes: list

    def page_with(self, *words):
        """Return the number of the one page whose text has all of some words."""
        (found,) = [k for k, page in enumerate(self.pages) if all(word in page for word in words)]
        return found

    def picture(self, number):
        """Return a page as an array of grey, 0 black and 255 white, one dot a point."""
        page = str(number + 1)
        command = ["pdftoppm", "-gray", "-r", str(DPI), "-f", page, "-l", page, "report.pdf"]
        raw = subprocess.run(command, cwd=self.folder, check=True, capture_output=True).stdout
        header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
        width, height = map(int, header.groups())
        return np.frombuffer(raw[header.end() :], np.uint8).reshape(height, width)

    def height_of(self, number, word):
        """Return how far down a page a word ends, in points; of several the lowest."""
        page = str(number + 1)
        command = ["pdftotext", "-bbox", "-f", page, "-l", page, "report.pdf", "-"]
        told = subprocess.run(command, cwd=self.folder, check=True, capture_output=True).stdout
        found = re.findall(rf'yMax="([\d.]+)">{re.escape(word)}<', told.decode())
        return max(map(float, found))


def print_run(run, folder):
    write_workbook(run, folder / "report.xlsx")
    # A profile of its own: another office that is open would swallow the command.
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    for command in (
        ["libreoffice", profile, "--headless", "--convert-to", "pdf", "report.xlsx"],
        ["pdftotext", "-layout", "report.pdf"],
        ["pdftotext", "-bbox", "report.pdf", "boxes.html"],
    ):
        subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=120)
    text = (folder / "report.txt").read_text(encoding="utf-8")
    boxes = (folder / "boxes.html").read_text(encoding="utf-8")
    sizes = re.findall(r'<page width="([\d.]+)" height="([\d.]+)"', boxes)
    pages = text.split("\f")[:-1]
    return Printed(folder, pages, [tuple(sorted(map(float, size))) for size in sizes])


def whole_run():
    """Return a run with something on every sheet."""
    points = tuple(
        CurvePoint(
            limit=100.0 * k,
            total=1000.0 - 50.0 * k,
            spend_now=90.0 * k,
            expected_later=1000.0 - 140.0 * k,
            bound=900.0,
            gap=0.0,
            kg=2.0 * k,
            readiness=0.7 + 0.03 * k,
        )
        for k in range(9)
    )
    run = make_run(stores=(make_store_line(), make_store_line("belt", level=0, source="")))
    curve = Curve(against="budget", points=points, now=500.0)
    return replace(run, why=replace(run.why, curves=(curve,)))


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    return print_run(whole_run(), tmp_path_factory.mktemp("printed"))


def test_every_sheet_is_printed_under_its_title_in_order(printed):
    sheets = list_sheets(whole_run())
    firsts = []
    for sheet, name in zip(sheets, sheet_names(sheet.name for sheet in sheets), strict=True):
        own = [
            number
            for number, page in enumerate(printed.pages)
            if page.strip().startswith(sheet.title) and re.search(rf"\s{name}\s+Page \d", page)
        ]
        assert own, sheet.name
        firsts.append(own[0])
    assert firsts == sorted(set(firsts))
    assert firsts[0] == 0


def test_nothing_is_cut_and_no_page_is_empty(printed):
    for number, page in enumerate(printed.pages, start=1):
        assert "###" not in page
        assert len(page.split()) > 20
        assert f"Page {number} of {len(printed.pages)}" in page
    # One page a sheet, but for how it was worked out.
    assert len(printed.pages) <= len(list_sheets(whole_run())) + 2
    assert "Stowed by (initials)" in "".join(printed.pages)


def test_it_is_printed_on_a4(printed):
    assert {tuple(map(round, size)) for size in printed.sizes} == {(595, 842)}


def test_bars_of_lives_are_drawn(printed):
    def count_filled(number):
        """Count the places where eight dots side by side have the grey of bars."""
        grey = np.abs(printed.picture(number).astype(int) - BAR_GREY) <= NEAR
        return np.lib.stride_tricks.sliding_window_view(grey, 8, axis=1).all(axis=2).sum()

    assert count_filled(printed.page_with("How long parts last, as bars")) > 100
    assert count_filled(0) == 0  # a page without a chart


def test_curves_are_drawn_below_their_titles(printed):
    number = printed.page_with("What more money, and more kilos, would buy")
    for title in ("Cost", "Readiness"):  # once above the table, once on the chart
        assert printed.pages[number].count(f"{title} against the budget of the fleet") == 2
    top = round(printed.height_of(number, "against"))  # the title of the lower chart
    page = printed.picture(number)
    columns = page.shape[1]
    drawn = page[top + 5 : top + 110, columns // 4 : columns * 3 // 4]
    # A curve from end to end puts something dark into nearly every column.
    assert (drawn < 0x60).any(axis=0).mean() > 0.8
    empty = page[-60:-40, : columns // 2]
    assert (empty > 0xF0).all()


@pytest.mark.full
def test_letter_holds_the_same_sheets(tmp_path):
    run = whole_run()
    settings = replace(run.fleet.settings, paper="letter")
    letter = print_run(replace(run, fleet=replace(run.fleet, settings=settings)), tmp_path)
    assert {tuple(map(round, size)) for size in letter.sizes} == {(612, 792)}
    assert all("###" not in page for page in letter.pages)
    assert len(letter.pages) <= len(list_sheets(run)) + 3


@pytest.mark.full
def test_a_long_stow_list_repeats_its_header_on_each_page(tmp_path):
    printed = print_run(with_many_lines(make_run(), 1, 90), tmp_path)
    stow = [page for page in printed.pages if "Stow Boat 1" in page]
    assert len(stow) >= 2
    assert all("Locker" in page and "Carry" in page for page in stow)
