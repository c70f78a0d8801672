"""For every reader: no serious fault by axe-core in light and dark, all by keyboard, large targets, enough contrast."""

import pytest

from exposure.detail.openings import Opening
from exposure.page.choices.state import CHIPS, PARTS
from exposure.paper.sheet import sheet_html
from exposure.paper.site_file import site_file_html
from exposure.wall.building import box_building
from tests.browser.conftest import FORMS
from tests.test_show_sheet import detailed

VIEWS = {  # and what is there once they are drawn
    "desk": ".figures",
    "compare": "table.ranking",
    "town": ".st-key-change-town",
    "site": "iframe",
    "print": ".st-key-project",
}


@pytest.fixture
def faults_in(axe):
    """Look at an open page in a form of ``FORMS``: serious faults by the rules, and whether it runs off sideways."""

    def look(page, form: str, where: str) -> list[tuple]:
        kind = FORMS[form]
        page.set_viewport_size(kind["viewport"])
        page.emulate_media(
            color_scheme=kind.get("color_scheme", "light"),
            forced_colors=kind.get("forced_colors", "none"),
            reduced_motion="reduce",  # no colour on its way from one scheme to the other
        )
        page.wait_for_timeout(100)
        if page.evaluate("!window.axe"):
            page.evaluate(axe)
        result = page.evaluate("() => axe.run(document, {resultTypes: ['violations'], selectors: false})")
        assert len(result["passes"]) > 20, where  # the rules were really tried
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= kind["viewport"]["width"], (where, form)
        return [
            (where, form, fault["id"], [node["html"][:160] for node in fault["nodes"][:3]])
            for fault in result["violations"]
            if fault["impact"] in ("serious", "critical")
        ]

    return look


def test_axe_finds_nothing_serious_on_any_view_in_any_form(screen, faults_in):
    one = screen()
    found = []
    for view, drawn in VIEWS.items():
        page = one.open(f"?view={view}", wait=drawn).settled().page
        for form in FORMS:
            found += faults_in(page, form, view)
    assert found == []


def test_an_elevation_is_chosen_by_keyboard_alone(screen):
    one = screen().open("?view=desk", wait=".figures").settled()
    page = one.page
    page.get_by_role("radio", name="south-west", exact=True).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    page.wait_for_url("**e=*")
    assert "e=south-west" not in page.url


def test_a_new_answer_is_told_in_a_live_region_that_stays(screen):
    page = screen().open("", wait=".figures").settled().page
    live = page.locator(".told[role=status]")
    page.evaluate("window.live = document.querySelector('.told')")
    assert "Shown: south-west, very severe" in live.inner_text().replace("\u00a0", " ")
    page.get_by_role("radio", name="north-west", exact=True).click()
    page.wait_for_function("document.querySelector('.told').innerText.includes('Shown: north-west')")
    assert page.evaluate("window.live === document.querySelector('.told')")  # else a reader hears nothing


@pytest.mark.parametrize("phone", [False, True], ids=["wide", "phone"])
def test_the_form_opens_by_key_and_the_next_tab_is_in_its_first_field(screen, phone):
    one = screen(phone=phone).open("?view=desk", wait=".figures").settled()
    page = one.page
    button = page.locator(".st-key-change summary").first
    button.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate(
        "() => { const e = document.activeElement; const box = e.getBoundingClientRect();"
        " return e.closest('.st-key-form-place') !== null && box.width > 0; }"
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)
    assert page.locator(".st-key-change details details").count() == 0  # no fold inside the fold


def test_a_place_is_chosen_without_the_map_by_tab_and_keys_alone(screen):
    """From the top of the page to another place, and to a position typed, with no pointer."""
    one = screen().open("?view=desk", wait=".figures").settled()
    page = one.page
    page.evaluate("document.activeElement.blur()")

    one.tab_to("e.tagName === 'SUMMARY' && e.innerText.includes('Change')")
    page.keyboard.press("Enter")
    one.tab_to("e.getAttribute('role') === 'combobox'", 1)
    one.settled()  # the list closes while the page still moves to where the focus went
    page.keyboard.type("Pellin")
    page.get_by_role("option", name="Pellin Ness").wait_for()
    page.keyboard.press("Enter")
    page.locator(".inputs").get_by_text("Pellin Ness", exact=True).wait_for()
    one.settled()
    one.tab_to("e.tagName === 'INPUT' && e.closest('.stTextInput')", 4)
    page.keyboard.type("48.75, -29.70")
    page.keyboard.press("Enter")
    page.wait_for_url("**at=48.75*")


def test_what_is_typed_keeps_the_focus_while_the_page_is_drawn_again(screen):
    """A note of the address goes with the first choice: what stands below it keeps its place."""
    one = screen().open("?at=nowhere", wait=".figures").settled()
    page = one.page
    assert "that cannot be read; it was left out" in one.words()
    one.change("place")
    page.get_by_label("Latitude, longitude").first.focus()
    page.keyboard.type("48.")
    page.evaluate(
        "() => [...document.querySelectorAll('[role=radio]')].find(e => e.innerText.trim() === 'north-west').click()"
    )
    page.wait_for_url("**e=north-west*")
    one.settled()
    page.keyboard.type("75")
    assert page.get_by_label("Latitude, longitude").first.input_value() == "48.75"


def test_every_button_can_be_reached_and_shows_where_one_is(screen):
    one = screen().open("?view=print", wait=".st-key-project").settled()
    page = one.page
    page.evaluate("document.activeElement.blur()")
    reached, outlines = set(), []
    for _ in range(40):
        page.keyboard.press("Tab")
        name, outline = page.evaluate(
            "() => { const e = document.activeElement; const s = getComputedStyle(e);"
            " return [e.innerText || e.getAttribute('aria-label') || e.tagName, s.outlineStyle + s.boxShadow]; }"
        )
        reached.add(name.strip().splitlines()[0] if name.strip() else "")
        if name.strip().startswith(("Take to site", "Schedule")):
            outlines.append(outline)
    for wanted in ("Take to site", "Sheets to print (HTML)", "Schedule (CSV)", "Save this project"):
        assert wanted in reached
    assert outlines
    assert all(outline != "nonenone" for outline in outlines)


TARGETS = """() => [...document.querySelectorAll('[data-testid=stButtonGroup] button, [data-testid^=stBaseButton], summary,'
    + '[data-testid=stTextInputRootElement], [data-testid=stNumberInputContainer], [role=group]:has(> input), [role=group]:has([role=combobox])')]
    .filter(e => e.checkVisibility({checkVisibilityCSS: true}) && e.offsetWidth > 60)
    .map(e => [e.innerText.slice(0, 30), e.getBoundingClientRect().height]).filter(([_, height]) => height < 43.5)"""


@pytest.mark.parametrize("query", ["", "?part=eaves", "?part=windows", "?view=compare"])
def test_targets_are_large_enough_for_a_thumb(screen, query):
    one = screen(phone=True).open(query, wait="h1").settled()
    one.change("place")
    one.settled()
    assert one.page.locator("[data-testid=stTextInputRootElement]").count() > 3
    assert one.page.evaluate(TARGETS) == []


def test_the_primary_button_is_readable_in_the_dark(screen):
    one = screen(dark=True).open("?view=print", wait=".st-key-project").settled()
    one.page.wait_for_selector("[data-testid=stBaseButton-primary]")  # drawn once the sheets are ready
    ink, ground = one.page.evaluate(
        "() => { const b = document.querySelector('[data-testid=stBaseButton-primary]');"
        " return [getComputedStyle(b.querySelector('p') || b).color, getComputedStyle(b).backgroundColor]; }"
    )
    assert contrast(ink, ground) >= 4.5


def contrast(one: str, other: str) -> float:
    """WCAG 2 contrast of two CSS colours."""

    def light(colour: str) -> float:
        parts = [float(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((light(one), light(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("which", ["sheet", "site", "night", "map"])
def test_axe_finds_nothing_serious_in_what_is_taken_along(browser, axe, tmp_path, which):
    path = tmp_path / "page.html"
    if which == "map":
        pytest.importorskip("folium")
        from exposure.map.region_map import draw_region_map, write_region_map
        from tests.test_region_map import region

        write_region_map(path, draw_region_map(region(), title="Driving rain on Quern Isle"))
    else:
        listed = (Opening("south-west", 900, 1200, 2), Opening("south-west", 900, 2100, 1, door=True))
        building = box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6)
        house = detailed(building, years=2, openings=listed)
        path.write_text(sheet_html(house) if which == "sheet" else site_file_html(house), "utf-8")
    context = browser.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    page.goto(path.as_uri())
    page.wait_for_load_state("load")
    if which == "night":
        page.locator("label[for=night]").click()
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    page.evaluate(axe)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations'], selectors: false})")
    assert len(found["passes"]) > 12  # the rules were really tried
    bad = [
        (one["id"], [node["html"][:160] for node in one["nodes"][:3]])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert bad == []
    assert page.evaluate("document.documentElement.lang") == "en"
    context.close()


def test_axe_finds_nothing_serious_in_what_is_opened_on_request(screen, faults_in):
    """Every part and every assumption, the what-ifs, the record inspected, the forms open, one with a refusal.

    A part is looked at in two forms and an assumption in one; each form sees its share of them.
    """
    one = screen()
    page = one.page
    forms = list(FORMS)
    found = []
    one.open("?rated=300&o=openings-0123456789ab", wait=".figures").settled()
    chips = page.get_by_test_id("stButtonGroup").filter(has_text="What this rests on").get_by_role("radio")
    for turn, opened in enumerate((*PARTS, *CHIPS)):
        if opened in PARTS:
            page.get_by_role("radio", name=PARTS[opened], exact=True).click()
        else:
            chips.nth(CHIPS.index(opened)).click()
        page.locator(f".st-key-open-{opened}").wait_for()
        if opened == "why":
            page.locator(".st-key-what-ifs label").first.click()
            page.locator("table.what-if").wait_for(timeout=90_000)
        if opened == "place":
            page.locator(".st-key-inspect-record label").first.click()
            page.locator(".keep").first.wait_for(state="attached")
        one.settled()
        for form in (forms[turn % 5], forms[(turn + 3) % 5])[: 2 if opened in PARTS else 1]:
            found += faults_in(page, form, opened)
    rules = one.change("local rules")
    upload = page.locator(".st-key-rule-file input[type=file]")
    upload.set_input_files({"name": "x.toml", "mimeType": "text/plain", "buffer": b"[rule]"})
    rules.get_by_role("alert").wait_for()
    one.settled()
    for form in FORMS:
        found += faults_in(page, form, "inputs")
    one.open("?view=compare&cf=list-0123456789ab", wait=".st-key-asked-places [role=alert]").settled()
    page.locator(".st-key-change-places summary").first.click()
    one.settled()
    for form in FORMS:
        found += faults_in(page, form, "places")
    assert found == []
    page.emulate_media(forced_colors="active")
    cross = page.locator("[data-testid=stMultiSelectTagsContainer] button svg").first
    ink = cross.evaluate("e => [getComputedStyle(e).color, getComputedStyle(document.body).backgroundColor]")
    assert ink[0] != ink[1]  # else a place cannot be seen to be taken off


def test_the_views_end_where_the_page_ends(screen):
    one = screen().open("?view=desk", wait=".figures").settled()
    last = one.page.get_by_role("radio", name="Print", exact=True).bounding_box()
    block = one.page.locator(".st-key-inputs").bounding_box()
    assert abs(last["x"] + last["width"] - block["x"] - block["width"]) <= 2


def test_forced_colours_still_tell_what_is_chosen_and_show_the_switches(browser, server):
    context = browser.new_context(forced_colors="active", viewport={"width": 1440, "height": 1000})
    page = context.new_page()
    page.goto(f"{server}/?part=place")
    page.wait_for_selector(".figures")
    for on in ("true", "false"):
        page.wait_for_selector(f"[data-testid=stButtonGroup] button[aria-checked={on}]")
    page.wait_for_selector(".st-key-map-online label")
    page.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
    chosen, other = page.evaluate(
        "() => ['true', 'false'].map(on => getComputedStyle("
        "document.querySelector(`[data-testid=stButtonGroup] button[aria-checked=${on}]`)).backgroundColor)"
    )
    assert chosen != other
    switch = page.evaluate(
        "() => { const e = document.querySelector('.st-key-map-online label > div:first-of-type');"
        " const box = e.getBoundingClientRect(); return [box.width > 10, getComputedStyle(e).outlineStyle]; }"
    )
    assert switch == [True, "solid"]
    legend = page.frame_locator("iframe[title='Map']").locator(".exposure-bar")
    assert "gradient" in legend.evaluate("e => getComputedStyle(e).backgroundImage")
    context.close()
