"""The workbook on paper, by a spreadsheet program, where there is one."""

import shutil
import subprocess

import pytest
from report_builders import make_run, with_many_lines

from stockopt.report.workbook import list_sheets, write_workbook

pytestmark = [
    pytest.mark.full,
    pytest.mark.skipif(
        not (shutil.which("libreoffice") and shutil.which("pdftotext")),
        reason="LibreOffice or pdftotext is not installed",
    ),
]


def pages(run, folder):
    """Return the text of each page that is printed."""
    write_workbook(run, folder / "report.xlsx")
    # A profile of its own: another office that is open would swallow the command.
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    for command in (
        ["libreoffice", profile, "--headless", "--convert-to", "pdf", "report.xlsx"],
        ["pdftotext", "-layout", "report.pdf"],
    ):
        subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=120)
    return (folder / "report.txt").read_text(encoding="utf-8").split("\f")[:-1]


def test_nothing_is_cut_and_no_page_is_empty(tmp_path):
    printed = pages(make_run(), tmp_path)
    assert len(printed) >= len(list_sheets(make_run()))
    for page in printed:
        assert "###" not in page
        assert len(page.split()) > 20
    text = "".join(printed)
    assert "Stowed by (initials)" in text
    assert f"Page {len(printed)} of {len(printed)}" in text


def test_a_long_stow_list_repeats_its_header_on_each_page(tmp_path):
    printed = pages(with_many_lines(make_run(), 1, 60), tmp_path)
    stow = [page for page in printed if "Stow Boat 1" in page]
    assert len(stow) >= 2
    assert all("Locker" in page and "Carry" in page for page in stow)
