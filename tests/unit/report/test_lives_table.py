"""The table of how long parts last: what it says, and that it fits."""

from dataclasses import replace

from printed import check_width, printed
from report_builders import (
    make_ageing,
    make_best_age,
    make_boat_spread,
    make_run,
    make_tests,
    with_ageing,
)

from stockopt.report.lives_table import print_lives
from stockopt.report.run import PartLives
from stockopt.report.words import best_age_text, standing_out


def studied(run=None, notes=()):
    run = run or make_run()
    return PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=notes)


def lines_of(text, part):
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(part))
    return [line.split("  ") for line in lines[start : start + 3]]


def cells(line):
    return [cell.strip() for cell in line if cell.strip()]


def test_two_lines_a_part():
    text = printed(print_lives, studied())
    check_width(text)
    head, numbers, _ = lines_of(text, "IMP-1")
    assert cells(head) == ["IMP-1", "Impeller, raw-water pump: wears out"]
    assert cells(numbers) == ["3 of 2", "624 h (480 to 860)", "420 h", "420 h", "23.6 %"]


def test_what_is_not_known_is_a_dash():
    text = printed(print_lives, studied())
    _, numbers, words = lines_of(text, "BILGE-2")
    assert cells(numbers) == ["0 of 0", "624 days (480 to 860)", "-", "-", "-"]
    assert cells(words) == ["no records: rests on expectation alone"]


def test_a_family_that_lent_its_lives_is_named():
    prior = "no failures yet: borrowed from seals (2 parts, 9 failures); mean life 700 hours"
    text = printed(print_lives, studied(with_ageing(make_run(), "SEAL-7", prior=prior)))
    assert "    no failures yet: borrowed from seals (2 parts, 9 failures)\n" in text
    assert "mean life 700" not in text


def test_an_unknown_age_is_marked():
    run = make_run()
    places = run.lives.positions.iloc[[2]]
    text = printed(print_lives, studied(replace(run, lives=replace(run.lives, positions=places))))
    _, numbers, _ = lines_of(text, "SEAL-7")
    assert "498+ h" in cells(numbers)


def test_large_numbers_and_long_names_still_fit():
    run = with_ageing(
        make_run(),
        "IMP-1",
        clock="days",
        failures=1234,
        mean_life=123456.0,
        mean_life_low=98765.0,
        mean_life_high=1234567.0,
        best_age=make_best_age(age=None),
    )
    name = "A name that nobody would think of giving to any part " * 3
    fleet = replace(run.fleet, parts=run.fleet.parts.assign(name=name))
    text = printed(print_lives, studied(replace(run, fleet=fleet)))
    check_width(text)
    assert "run to failure" in text


def test_the_hardest_boats_are_named_where_boats_differ():
    text = printed(print_lives, studied())
    text = " ".join(text.split())
    assert "times the usual rate of failing: Heron 1.40; Osprey / west 0.70." in text
    run = make_run()
    alike = replace(run.ageing, boat_spread=make_boat_spread(used=False))
    assert "Hardest" not in printed(print_lives, studied(replace(run, ageing=alike)))


def test_ascii():
    assert printed(print_lives, studied(), encoding="ascii").isascii()


def test_what_stands_out_is_clear_or_not_said():
    loud = make_tests(
        newest_p=0.001,
        newest="of the 5 pieces fitted last 4 failed",
        trend_p=0.009,
        trend="failures come faster",
        boats_p=0.03,
        boats="fails faster on some boats",
    )
    assert standing_out(make_ageing("IMP-1", tests=loud)) == [
        "of the 5 pieces fitted last 4 failed",
        "failures come faster",
    ]
    assert standing_out(make_ageing("IMP-1", tests=make_tests())) == []
    assert standing_out(make_ageing("IMP-1", failures=0)) == ["no failures yet"]


def test_best_age_in_words():
    part = make_ageing("IMP-1", best_age=make_best_age())
    assert best_age_text(part, fitted=True) == "420 h"
    assert best_age_text(part, fitted=False) == "-"
    assert best_age_text(make_ageing("IMP-1"), fitted=True) == "-"
    never = make_ageing("IMP-1", best_age=make_best_age(age=None))
    assert best_age_text(never, fitted=True) == "run to failure"
