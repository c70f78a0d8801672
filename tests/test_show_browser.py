"""The builder's file and the sheets in a real browser: ticks, targets, widths, printed pages, no request."""

import re
from functools import cache

import pytest

from exposure.detail.openings import Opening
from exposure.paper.sheet import sheet_html
from exposure.paper.site_file import site_file_html
from exposure.wall import Building
from exposure.wall.building import Wall, box_building
from tests.test_show_sheet import detailed

pytestmark = pytest.mark.browser


LISTED = (Opening("south-west", 900, 1200, 2), Opening("north-east", 600, 900, 1))


@pytest.fixture(scope="module")
def house():
    return detailed(
        box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6), openings=LISTED
    )


@pytest.fixture(scope="module")
def site_file(house, tmp_path_factory):
    path = tmp_path_factory.mktemp("site") / "house.html"
    path.write_text(site_file_html(house), "utf-8")
    return path.as_uri()


def phone(browser, width=390, **more):
    context = browser.new_context(
        viewport={"width": width, "height": 844}, is_mobile=True, has_touch=True, offline=True, **more
    )
    page = context.new_page()
    page.faults = []
    page.asked = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    page.on("request", lambda request: page.asked.append(request.url))
    return page


def ready(page, address):
    page.goto(address)
    page.wait_for_selector("html[data-ready]", state="attached")


def test_ticks_are_kept_by_opening_over_a_reload_and_cleared_on_request(browser, site_file):
    page = phone(browser)
    ready(page, site_file)
    page.click("a[data-mark=SW1]")
    page.tap("label[for=e0-s-1]")
    page.wait_for_selector("#kept:has-text('Kept')")
    page.tap("label[for=e0-s-2]")
    page.wait_for_selector("[data-mark=SW1] .v:has-text('2/')", state="attached")
    page.reload()
    page.wait_for_selector(".recording[data-ready]", state="attached")
    assert [page.is_checked(f"#e0-s-{number}") for number in (1, 2, 3)] == [True, True, False]
    page.click(".now .back")
    page.click("a[data-mark=SW2]")
    page.wait_for_selector(".now .which:has-text('SW2')")
    assert not page.is_checked("#e0-s-1")  # each opening has its own
    page.click(".now .back")
    assert page.is_visible("#keeps")
    assert page.is_hidden("#loses")
    page.on("dialog", lambda dialog: dialog.accept())
    with page.expect_navigation(wait_until="load"):
        page.click("#clear")
    page.wait_for_selector("html[data-ready]", state="attached")
    assert page.inner_text("[data-mark=SW1] .v").startswith("0/")
    assert page.faults == []
    assert {address.partition("#")[0] for address in page.asked} == {site_file}
    page.context.close()


def test_without_a_store_the_boxes_still_tick_and_the_loss_is_told(browser, site_file):
    page = phone(browser)
    page.add_init_script(
        "Object.defineProperty(window, 'indexedDB', {get() { throw new DOMException('no', 'SecurityError'); }})"
    )
    ready(page, site_file)
    assert page.is_visible("#loses")
    assert page.is_hidden("#keeps")
    page.click("a[data-mark=SW1]")
    page.tap("label[for=e0-s-1]")
    assert page.is_checked("#e0-s-1")
    page.wait_for_selector(".now [data-count]:has-text('1 of')")
    assert page.faults == []
    page.context.close()


def test_without_script_it_is_plain_boxes(browser, site_file):
    page = phone(browser, java_script_enabled=False)
    page.goto(site_file)
    page.tap("label[for=e0-s-1]")
    assert page.is_checked("#e0-s-1")
    assert page.is_visible("#loses")
    page.context.close()


@pytest.mark.parametrize("recording", [False, True])
@pytest.mark.parametrize("width", [320, 390])
def test_targets_are_thumb_sized_and_nothing_runs_off_sideways(browser, site_file, width, recording):
    page = phone(browser, width=width)
    ready(page, site_file)
    if recording:
        page.click("a[data-mark=SW1]")
        page.wait_for_selector(".recording .now", state="attached")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        """() => [...document.querySelectorAll('label, summary, a, button')].filter(one => one.offsetParent)
        .map(one => [one.textContent.slice(0, 30), one.getBoundingClientRect().height]).filter(one => one[1] < 55.9)"""
    )
    assert small == []  # 56, but for the 64th of a pixel that a browser rounds by
    tiny = page.evaluate(
        """() => [...document.querySelectorAll('.rows *, .trio *, .do *, .note')].filter(one => one.offsetParent
        && one.textContent.trim() && !one.closest('svg, .mark')).map(one => [one.textContent.slice(0, 30), parseFloat(getComputedStyle(one).fontSize)])
        .filter(one => one[1] < 16)"""
    )
    assert tiny == []
    broken = page.evaluate(
        """() => [...document.querySelectorAll('.trio b, .rows .code, .rows .v')].filter(one => one.offsetParent &&
        (one.getClientRects().length > 1 || one.offsetHeight > 1.9 * parseFloat(getComputedStyle(one).fontSize)
         || one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).display !== 'inline')).map(one => one.textContent)"""
    )
    assert broken == []  # a figure and its unit stay together
    boxes = page.evaluate(
        "[...document.querySelectorAll('.do [type=checkbox]')].filter(one => one.offsetParent).map(one => one.offsetWidth)"
    )
    assert min(boxes) >= 32
    page.context.close()


def test_the_keyboard_reaches_every_box_and_shows_where_it_is(browser, site_file):
    page = phone(browser)
    ready(page, site_file)
    page.click("a[data-mark=SW1]")
    page.wait_for_selector(".recording .now", state="attached")
    page.wait_for_selector(".which:focus")
    for wanted in ("turn", "turn", "do"):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == wanted
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "e0-s-1"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineWidth") == "3px"
    page.keyboard.press("Space")
    assert page.is_checked("#e0-s-1")
    page.context.close()


def test_ink_on_ground_in_the_file_reaches_fourteen_to_one(browser, site_file):
    page = phone(browser, color_scheme="dark")  # a dark phone still gets the light file: sunlight
    ready(page, site_file)
    ink, ground = page.evaluate(
        "[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"
    )
    assert (ink, ground) == ("rgb(27, 34, 40)", "rgb(244, 246, 245)")
    page.locator("label[for=night]").tap()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(20, 24, 27)"
    page.context.close()


def many_walls(number):
    """A building of long names all round, every wall short."""
    from math import cos, pi, sin

    corners = [(9 * cos(2 * pi * i / number), 9 * sin(2 * pi * i / number)) for i in range(number)]
    walls = []
    for place, start in enumerate(corners):
        end = corners[(place + 1) % number]
        facing = 90 - 360 * (place + 0.5) / number
        name = f"side {chr(97 + place)} towards the yard, the stables and the old well"
        walls.append(Wall(name, facing % 360, 4.0, 6.0, start=start, end=end))
    return Building("House of many sides and a long name", tuple(walls))


@pytest.fixture(scope="module")
def sheets(house):
    """The sheets of a building of so many walls, or of the house, made once for both papers."""
    return cache(lambda number: sheet_html(detailed(many_walls(number), years=2) if number else house))


@pytest.mark.parametrize(("number", "most"), [(0, 12), (6, 13), (12, 20)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_sheets_print_with_nothing_clipped_on_the_pages_there_may_be(
    browser, sheets, tmp_path, number, most, paper
):
    path = tmp_path / "sheet.html"
    path.write_text(sheets(number), "utf-8")
    page = browser.new_page(viewport={"width": 718, "height": 1000})  # what A4 leaves between its margins
    page.goto(path.as_uri())
    page.emulate_media(media="print")
    right = page.evaluate(
        "Math.max(...[...document.querySelectorAll('body *')].map(one => one.getBoundingClientRect().right))"
    )
    assert right <= 719
    pdf = page.pdf(format=paper, print_background=True)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) <= most + (paper == "Letter")  # 18 mm shorter
    page.close()


def test_every_table_of_the_sheets_is_named_and_its_heads_say_what_they_head(house):
    html = sheet_html(house)
    for table in re.findall(r"<table(?![^>]*role=\"presentation\").*?</table>", html, re.DOTALL):
        assert "<caption" in table, table[:200]
        assert all("scope=" in head for head in re.findall(r"<th\b[^>]*>", table)), table[:200]


def test_a_doors_card_shows_the_door_and_a_windows_the_window(browser, tmp_path):
    page = phone(browser, width=320)
    listed = (*LISTED, Opening("south-west", 900, 2100, 1, door=True))
    path = tmp_path / "doors.html"
    path.write_text(
        site_file_html(
            detailed(
                box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6),
                openings=listed,
                years=2,
            )
        ),
        "utf-8",
    )
    ready(page, path.as_uri())
    door = page.get_attribute("a[data-kind^=door]", "data-mark")
    window = page.get_attribute("a[data-kind^=window]", "data-mark")
    steps = {
        mark: int(page.inner_text(f"a[data-mark={mark}] .v").partition("/")[2]) for mark in (door, window)
    }
    for mark, shown, hidden in ((door, "door", "window"), (window, "window", "door")):
        page.evaluate("to => { location.hash = to }", f"e0/{mark}")
        page.wait_for_selector(f".now .which:has-text('{mark}:')")
        seen = page.eval_on_selector_all(
            ".now .run :is(.for-door,.for-window)",
            "found => found.filter((one) => one.offsetParent && !one.matches('.added')).map((one) => one.className)",
        )
        assert any(f"for-{shown}" in one for one in seen)
        assert not any(f"for-{hidden}" in one for one in seen)
        assert page.locator(".now .run .do > li:visible").count() == steps[mark]
        assert page.inner_text(".now [data-count]").startswith(f"0 of {steps[mark]} ")
        assert page.locator(".now .run .do > li:visible", has_text="prime the edge").count() == (
            shown == "door"
        )
    assert steps[window] < steps[door]
    fold = page.locator(".now .run .drawn:visible > summary").first
    fold.focus()
    page.keyboard.press("Enter")
    picture = page.locator(".now .run .drawn[open] svg").first
    box = picture.bounding_box()
    assert box["width"] >= 290  # a section 310 wide keeps its letters
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert picture.evaluate("one => one.getBBox().height") > 100  # what it points to is drawn
    assert not page.faults
