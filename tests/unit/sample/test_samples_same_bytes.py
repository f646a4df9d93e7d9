"""The samples in the repository are what their script makes, byte for byte."""

import subprocess
import sys
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[3] / "sample_fleet"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Return a folder into which the script has just made the samples."""
    folder = tmp_path_factory.mktemp("samples")
    done = subprocess.run(
        [sys.executable, str(SAMPLES / "make_samples.py"), str(folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return folder


def files_in(folder):
    """Return the bytes of the samples in a folder, by name."""
    files = [*(folder / "charter_base").iterdir(), folder / "ocean_crossing.xlsx"]
    return {file.name: file.read_bytes() for file in files}


def test_the_same_files_are_made(made):
    assert files_in(made).keys() == files_in(SAMPLES).keys()
    assert len(files_in(made)) > 10


def test_every_file_has_the_same_bytes(made):
    committed = files_in(SAMPLES)
    differing = [name for name, content in files_in(made).items() if content != committed[name]]
    assert differing == []
