"""The page for a phone, in a real browser where there is one: width, ticks, search, escapes."""

import re
import shutil
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from report_builders import make_run

from stockopt.report.phone import make_phone_page

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
    assert page.count("Replace before departure") == len(
        {line.boat for line in run.plan.carry if line.replace_now}
    )
    shown = [line for line in run.plan.carry if line.carry or line.on_hand or line.buy]
    assert parse(page).tags.count("li") >= len(shown) + changes


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
    file.write_text(make_phone_page(evil_run()), encoding="utf-8")
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
