"""One part in full, in the terminal; finding it by what a person would type."""

from dataclasses import replace

import pytest
from builders import make_fleet
from printed import check_width, printed
from report_builders import make_run, with_ageing

from stockopt.errors import EXIT_INPUT, StockoptError
from stockopt.report.chart import BLOCKS, HEIGHT, LETTERS, WIDTH, draw_chart, marks_for
from stockopt.report.one_part import life_ages, list_facts, pick_part, print_part
from stockopt.report.run import PartLives


@pytest.fixture
def studied():
    run = make_run()
    return PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=())


def test_facts(studied):
    facts = dict(list_facts(pick_part(studied, "IMP-1")))
    assert facts["Records"] == "3 failed of 2 pieces watched, in 2,800 h"
    assert facts["Mean life"] == "624 h (480 to 860, 9 times in 10)"
    assert facts["Best age"].startswith("change at 420 hours")
    assert facts["Oldest fitted"] == (
        "Heron, engine: 420 h; its chance of failing within 100 h is 23.6 %"
    )
    assert facts["Wear"] == "wears out with age, clearly"
    assert facts["Beforehand"] == "expected life 700 h, wears"


def test_facts_of_a_part_that_little_is_known_of(studied):
    facts = dict(list_facts(pick_part(studied, "BILGE-2")))
    assert facts["Best age"] == "none: no piece is fitted now"
    assert "Trend" not in facts
    assert "Oldest fitted" not in facts
    seal = dict(list_facts(pick_part(studied, "SEAL-7")))
    assert seal["Best age"] == "not known: the part has no price"
    assert seal["Records"].endswith("; 1 of unknown age, left out of the curve")


def test_printed_in_full(studied):
    text = printed(print_part, pick_part(studied, "IMP-1"))
    check_width(text)
    assert "█" in text
    rows = [line.split() for line in text.splitlines() if line.strip().startswith("Heron")]
    assert rows == [
        ["Heron", "engine", "2028-01-10", "2029-04-02", "540", "worn"],
        ["Heron", "engine", "2029-04-02", "2031-04-01", "420", "still", "running"],
    ]
    assert "No." not in text


def test_a_life_whose_beginning_was_not_seen(studied):
    text = printed(print_part, pick_part(studied, "SEAL-7"))
    line = next(line for line in text.splitlines() if "not seen" in line)
    assert "at least 512" in line


def test_slots_are_numbered_where_there_are_several(studied):
    lives = studied.lives.lives.assign(slot=[1, 2, 1])
    several = replace(studied, lives=replace(studied.lives, lives=lives))
    assert "No." in printed(print_part, pick_part(several, "IMP-1"))


def test_a_part_without_lives_still_has_its_curve(studied):
    text = printed(print_part, pick_part(studied, "BILGE-2"))
    check_width(text)
    assert "•" in text
    assert "How it ended" not in text


def test_only_ascii(studied):
    text = printed(print_part, pick_part(studied, "IMP-1"), encoding="ascii")
    assert text.isascii()
    assert "?" not in text.split("How it ended")[0].replace("────", "")
    assert "#" in text


def test_ages_of_a_life():
    life = {"entered": 120.0, "left": 512.0, "age_known": True}
    assert life_ages(life) == "120 to 512"
    assert life_ages({**life, "entered": 0.0}) == "512"
    assert life_ages({**life, "age_known": False}) == "at least 512"


@pytest.mark.parametrize("wanted", ["IMP-1", "imp-1", " Imp-1 ", "the impeller", "THE IMPELLER"])
def test_a_part_is_found_in_any_capitals_and_by_its_alias(studied, wanted):
    aliases = make_fleet(
        parts=[{"part": "IMP-1"}], aliases=[{"other": "The impeller", "part": "IMP-1"}]
    ).aliases
    known = replace(studied, fleet=replace(studied.fleet, aliases=aliases))
    assert pick_part(known, wanted).ageing.part == "IMP-1"


@pytest.mark.parametrize(
    ("wanted", "near"),
    [("IMP-2", ["IMP-1"]), ("shaft", ["SEAL-7"]), ("pump", ["BILGE-2", "IMP-1"])],
)
def test_a_part_that_is_not_there_names_those_near_to_it(studied, wanted, near):
    with pytest.raises(StockoptError) as caught:
        pick_part(studied, wanted)
    text = str(caught.value)
    assert text.startswith(f"There is no part '{wanted}' in tiny.")
    for part in near:
        assert f"  {part}  " in text
    assert caught.value.exit_code == EXIT_INPUT


def test_a_part_near_to_nothing(studied):
    with pytest.raises(StockoptError, match="stockopt lives FLEET lists all parts"):
        pick_part(studied, "zzz")


def test_square_brackets_are_no_markup(studied):
    run = with_ageing(make_run(), "IMP-1", prior="[red]known[/red]")
    odd = replace(studied, ageing=run.ageing)
    assert "[red]known[/red]" in printed(print_part, pick_part(odd, "IMP-1"))


def test_the_chart_falls_from_all_to_none(studied):
    curves = pick_part(studied, "IMP-1").curves
    *rows, axis, ages, legend = draw_chart(curves, "h", LETTERS)
    assert len(rows) == HEIGHT
    assert rows[0].startswith("100 % |")
    assert rows[-1].startswith("  0 % |")
    assert axis == f"      +{'-' * WIDTH}"
    assert ages.split() == ["0", "470", "940", "h"]
    assert legend.split()[0] == "#"
    page = [row[7:].ljust(WIDTH) for row in rows]
    until = int(540 / (1.5 * 624) * (WIDTH - 1))
    assert page[0][:until] == "#" * until
    assert all("*" in row for row in page[1:-2]), "the fitted curve has no gap"


def test_blocks_only_where_they_can_be_shown():
    assert marks_for("utf-8") is BLOCKS
    assert marks_for("cp437") in (BLOCKS, LETTERS)
    assert marks_for("latin-1") is LETTERS
    assert marks_for("no such") is LETTERS
