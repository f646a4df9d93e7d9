"""One part's survival as a picture: text that stays text, and the same file every time."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from report_builders import make_run

from stockopt.report.one_part import pick_part
from stockopt.report.run import PartLives

pytest.importorskip("matplotlib")
from stockopt.report.picture import write_picture


@pytest.fixture
def part():
    run = make_run()
    studied = PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=())
    return pick_part(studied, "IMP-1")


def test_svg_says_what_it_shows_in_text_and_needs_no_network(part, tmp_path):
    odd = replace(part, name="<b> & $x_1$ 泵")
    write_picture(odd, tmp_path / "odd.svg")
    tree = ET.fromstring((tmp_path / "odd.svg").read_text(encoding="utf-8"))
    text = " ".join("".join(tree.itertext()).split())
    for words in ("IMP-1 <b> & $x_1$ 泵", "mean life 624 h", "fitted", "age, h", "100 %"):
        assert words in text
    links = [value for item in tree.iter() for key, value in item.items() if key.endswith("href")]
    assert all(link.startswith("#") for link in links)


def test_the_same_part_gives_the_same_file(part, tmp_path):
    for name in ("one.svg", "two.svg", "one.png", "two.PNG"):
        write_picture(part, tmp_path / name)
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "two.svg").read_bytes()
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.PNG").read_bytes()
    assert (tmp_path / "one.png").read_bytes().startswith(b"\x89PNG")


def test_a_part_without_lives(tmp_path):
    run = make_run()
    studied = PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=())
    write_picture(pick_part(studied, "BILGE-2"), tmp_path / "bilge.svg")
    text = (tmp_path / "bilge.svg").read_text(encoding="utf-8")
    assert "fitted" in text
    assert "from the lives alone" not in text
