"""The page for a phone, in a real browser where there is one: width, ticks, search, escapes."""

import re
import shutil
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from report_builders import make_run, make_store_line

from stockopt.report.phone import make_phone_page
from stockopt.why.why import Curve, CurvePoint

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome") or ""
EVIL = "<script>document.title='broken'</script><b>&quot;'"


class Seen(HTMLParser):
    """Collects tags, and addresses that would be loaded from elsewhere."""

    def __init__(self):
        super().__init__()
        self.tags = []
        self.loaded = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.loaded += [
            value
            for name, value in attrs
            if name in ("src", "href", "action") and not (value or "").startswith("#")
        ]


def evil_run():
    run = make_run()
    plan = run.plan
    carry = tuple(replace(line, name=f"{line.name} {EVIL}") for line in plan.carry)
    return replace(run, plan=replace(plan, fleet=f"tiny {EVIL}", carry=carry))


def parse(page):
    seen = Seen()
    seen.feed(page)
    return seen


def test_it_loads_nothing_from_anywhere():
    page = make_phone_page(make_run())
    assert parse(page).loaded == []
    assert not re.search(r"https?:|url\(|@import|fetch\(|XMLHttpRequest", page)


def test_every_carried_line_and_every_change_is_there_once_a_boat():
    run = make_run()
    page = make_phone_page(run)
    for boat in run.plan.boats:
        assert f"<h2>{boat.boat}</h2>" in page
    changes = sum(1 for line in run.plan.carry if line.replace_now)
    assert page.count("<h3>Replace before departure") == len(
        {line.boat for line in run.plan.carry if line.replace_now}
    )
    shown = [line for line in run.plan.carry if line.carry or line.on_hand or line.buy]
    assert parse(page).tags.count("li") >= len(shown) + changes


def test_sums_have_their_units():
    page = make_phone_page(make_run())
    assert re.search(r"<p>Total mass of spares: [\d.,]+ kg</p>", page)
    assert re.search(r"<p>Everything to spend now: [\d.,]+ EUR</p>", page)


def test_text_of_the_tables_never_becomes_markup():
    page = make_phone_page(evil_run())
    assert parse(page).tags.count("script") == 1
    assert "<b>&quot;" not in page
    assert EVIL not in page


def test_another_plan_starts_unticked():
    def plan_key(run):
        return re.search(r'data-plan="(\w+)"', make_phone_page(run)).group(1)

    run = make_run()
    more = replace(run.plan.carry[0], carry=run.plan.carry[0].carry + 1)
    other = replace(run, plan=replace(run.plan, carry=(more, *run.plan.carry[1:])))
    assert plan_key(run) == plan_key(make_run()) != plan_key(other)


def with_curves(run):
    points = tuple(
        CurvePoint(
            limit=100.0 * k,
            total=1000.0 - 50.0 * k,
            spend_now=90.0 * k,
            expected_later=1000.0 - 140.0 * k,
            bound=900.0,
            gap=0.0,
            kg=2.0 * k,
            readiness=0.91 + 0.01 * k,
        )
        for k in range(9)
    )
    curves = (
        Curve(against="budget", points=points, now=500.0),
        Curve(against="kg", points=points, now=None),
    )
    return replace(run, why=replace(run.why, curves=curves))


def test_curves_are_drawn_in_the_page_itself():
    page = make_phone_page(with_curves(make_run()))
    titles = re.findall(r'<svg [^>]*aria-label="([^"]*)"', page)
    assert titles == [
        "Cost in EUR against the budget of the fleet",
        "Readiness against the budget of the fleet",
        "Cost in EUR against the kilos she may take",
        "Readiness against the kilos she may take",
    ]
    costs, ready = re.findall(r"<svg.*?</svg>", page)[:2]
    assert costs.count("<circle") == 2 * 9
    assert ready.count("<circle") == 9
    assert "this plan" in costs
    # More money, less cost and never less ready: down the page is more.
    heights = [float(y) for y in re.findall(r'cy="([\d.]+)"', costs)]
    assert heights[:9] == sorted(heights[:9])
    heights = [float(y) for y in re.findall(r'cy="([\d.]+)"', ready)]
    assert heights == sorted(heights, reverse=True)


def test_without_curves_bars_say_what_the_money_buys_each_boat():
    run = evil_run()
    boats = (replace(run.plan.boats[0], boat=EVIL, readiness=0.9), *run.plan.boats[1:])
    page = make_phone_page(replace(run, plan=replace(run.plan, boats=boats)))
    (drawn,) = re.findall(r"<svg.*?</svg>", page)
    assert drawn.count("<rect") == 2 * len(boats)
    assert "10.0 %" in drawn
    assert "<script>" not in drawn


def test_stores_show_what_they_keep_and_when_to_order():
    lines = (make_store_line("seal"), make_store_line("belt", level=0, source=""))
    page = make_phone_page(make_run(stores=lines))
    (section,) = re.findall(r"<section><h2>Shed: levels.*?</section>", page, re.DOTALL)
    assert "at 1 left order 3 from Far, until 2031-09-01" in section
    assert section.count("<li") == 1


def test_a_hundred_boats_stay_under_a_megabyte():
    run = make_run()
    plan = run.plan
    boats, carry = [], []
    for number in range(100):
        name = f"Boat number {number}"
        boats.append(replace(plan.boats[0], boat=name))
        carry += [
            replace(plan.carry[k % len(plan.carry)], boat=name, part=f"PART-{k:04d}", carry=1)
            for k in range(40)
        ]
    many = replace(run, plan=replace(plan, boats=tuple(boats), carry=tuple(carry)))
    page = make_phone_page(many)
    assert page.count("<li>") >= 4000
    assert len(page.encode()) < 1_000_000


@pytest.fixture(scope="module")
def browser():
    playwright = pytest.importorskip("playwright.sync_api")
    if not CHROMIUM:
        pytest.skip("no Chromium here")
    quiet = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]
    with playwright.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=quiet)
        yield opened
        opened.close()


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1280, 900)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_the_width_and_shows_its_words(browser, tmp_path, width, height, scheme):
    file = tmp_path / "page.html"
    file.write_text(make_phone_page(with_curves(evil_run())), encoding="utf-8")
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme, offline=True
    )
    page = context.new_page()
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(file.as_uri())
    assert errors == []
    assert page.title().startswith("tiny <script>")  # as text, not run
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    ink, paper = page.evaluate(
        "[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"
    )
    brightness = [sum(map(int, re.findall(r"\d+", colour)[:3])) for colour in (ink, paper)]
    assert abs(brightness[0] - brightness[1]) > 400
    assert (brightness[1] > brightness[0]) == (scheme == "light")
    context.close()


def test_ticks_are_kept_and_a_search_finds(browser, tmp_path):
    run = make_run()
    file = tmp_path / "page.html"
    file.write_text(make_phone_page(run), encoding="utf-8")
    context = browser.new_context(viewport={"width": 360, "height": 740}, offline=True)
    page = context.new_page()
    page.goto(file.as_uri())
    lines = page.locator("li")
    lines.nth(1).click()
    lines.nth(2).focus()
    page.keyboard.press("Space")
    page.reload()
    ticked = [lines.nth(k).get_attribute("aria-checked") for k in range(4)]
    assert ticked == ["false", "true", "true", "false"]
    lines.nth(1).click()
    assert lines.nth(1).get_attribute("aria-checked") == "false"

    part = next(line.part for line in run.plan.carry if line.carry)
    page.fill("nav input", part.lower())
    shown = [line for line in lines.all() if line.is_visible()]
    assert shown
    assert all(part in line.inner_text() for line in shown)
    assert str(len(shown)) in page.locator("#count").inner_text()
    page.fill("nav input", "no such part")
    assert not [line for line in lines.all() if line.is_visible()]
    page.fill("nav input", "")
    assert all(line.is_visible() for line in lines.all())
    context.close()


def test_it_prints_every_line(browser, tmp_path):
    file = tmp_path / "page.html"
    file.write_text(make_phone_page(make_run()), encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    assert not page.locator("nav").is_visible()
    assert all(line.is_visible() for line in page.locator("li").all())
    assert page.pdf(format="A4").startswith(b"%PDF")
    page.close()
