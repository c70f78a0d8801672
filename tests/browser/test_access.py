"""For every reader: no serious fault by axe-core in light and dark, all by keyboard, large targets, enough contrast."""

import pytest

from exposure.paper.sheet import sheet_html
from exposure.paper.site_file import site_file_html
from exposure.wall.building import box_building
from tests.test_show_sheet import detailed

VIEWS = ["desk", "site", "compare", "print"]


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("phone", [False, True], ids=["wide", "phone"])
def test_axe_finds_nothing_serious_on_any_view(screen, axe, phone, dark):
    one = screen(phone=phone, dark=dark)
    found = []
    for view in VIEWS:
        one.open(
            f"?view={view}",
            wait={"site": ".hero", "compare": ".place-rose", "print": ".st-key-project"}.get(
                view, ".figures"
            ),
        )
        one.settled()
        one.page.evaluate(axe)
        result = one.page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
        assert len(result["passes"]) > 20  # the rules were really tried
        found += [
            (view, fault["id"], fault["impact"], [node["html"][:160] for node in fault["nodes"][:3]])
            for fault in result["violations"]
            if fault["impact"] in ("serious", "critical")
        ]
        assert one.page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)
    assert found == []


def test_an_elevation_is_chosen_by_keyboard_alone(screen):
    one = screen().open("?view=desk", wait=".figures").settled()
    page = one.page
    page.get_by_role("radio", name="south-west", exact=True).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    page.wait_for_url("**e=*")
    assert "e=south-west" not in page.url


@pytest.mark.parametrize("phone", [False, True], ids=["wide", "phone"])
def test_a_form_opens_by_key_and_the_next_tab_is_in_its_first_field(screen, phone):
    """Every input, and the list of places to compare: from its button one key opens it and one more is inside."""
    one = screen(phone=phone).open("?view=desk", wait=".figures").settled()
    page = one.page
    inside = (
        "key => { const e = document.activeElement; const form = document.querySelector(`.st-key-${key} details`);"
        " const field = form.querySelector('summary').nextElementSibling;"
        " const box = e.getBoundingClientRect(); return field.contains(e) && box.width > 0; }"
    )
    for what in ("place", "weather-record", "building", "local-rules"):
        button = page.locator(f".st-key-change-{what} summary").first
        button.focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        assert page.evaluate(inside, f"change-{what}"), what
        button.focus()
        page.keyboard.press("Enter")
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)


def test_a_place_is_chosen_without_the_map_by_tab_and_keys_alone(screen):
    """From the top of the page to another place, and to a position typed, with no pointer."""
    one = screen().open("?view=desk", wait=".figures").settled()
    page = one.page
    page.evaluate("document.activeElement.blur()")

    def tab_to(script: str, most: int = 14) -> None:
        for _ in range(most):
            page.keyboard.press("Tab")
            if page.evaluate(f"() => {{ const e = document.activeElement; return {script}; }}"):
                shown = page.evaluate(
                    "() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle + s.boxShadow; }"
                )
                assert shown != "nonenone", script
                return
        raise AssertionError(script)

    tab_to("e.tagName === 'SUMMARY' && e.innerText.includes('Change place')")
    page.keyboard.press("Enter")
    # the form's fields come with the answer to opening it; a slow machine may bring them anew while one types
    page.get_by_role("combobox").first.wait_for()
    page.wait_for_timeout(1500)
    one.settled()
    tab_to("e.getAttribute('role') === 'combobox'", 1)
    page.keyboard.type("Pellin", delay=50)
    page.get_by_role("option", name="Pellin Ness").wait_for()
    page.keyboard.press("Enter")
    page.locator(".title-cell").get_by_text("Pellin Ness", exact=True).wait_for()
    one.settled()
    tab_to("e.tagName === 'INPUT' && e.closest('.stTextInput')", 4)
    page.keyboard.type("48.75, -29.70")
    page.keyboard.press("Enter")
    page.wait_for_url("**at=48.75*")


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


def test_targets_are_large_enough_for_a_thumb(screen):
    one = screen(phone=True).open("?view=site", wait=".hero").settled()
    small = one.page.evaluate(
        "() => [...document.querySelectorAll('[data-testid=stMain] button, [data-testid=stMain] label')]"
        ".filter(e => e.offsetParent).map(e => [e.innerText.slice(0, 30), e.getBoundingClientRect().height])"
        ".filter(([name, height]) => height > 0 && height < 43.5 && name)"
    )
    assert [name for name, _ in small if name not in ("View", "Show the elevation")] == []


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
        house = detailed(
            box_building(name="Wrack House", length=12, width=8, bearing=52, height=5.6), years=2
        )
        path.write_text(sheet_html(house) if which == "sheet" else site_file_html(house), "utf-8")
    context = browser.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    page.goto(path.as_uri())
    page.wait_for_load_state("load")
    if which == "night":
        page.locator("label[for=night]").click()
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    page.evaluate(axe)
    found = page.evaluate("axe.run(document)")
    assert len(found["passes"]) > 12  # the rules were really tried
    bad = [
        (one["id"], [node["html"][:160] for node in one["nodes"][:3]])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert bad == []
    assert page.evaluate("document.documentElement.lang") == "en"
    context.close()


def test_the_list_of_elevations_on_site_is_read_and_hit_by_a_thumb(screen):
    one = screen(phone=True).open("?view=site", wait=".hero").settled()
    rows = one.page.evaluate(
        """() => [...document.querySelectorAll('.st-key-others [role=radiogroup] label')].map(row => {
            const box = row.getBoundingClientRect();
            return [row.innerText, box.height, box.width, parseFloat(getComputedStyle(row.querySelector('p')).fontSize)];
        })"""
    )
    assert len(rows) == 6
    for words, height, width, size in rows:
        assert height >= 56, words
        assert width >= 340, words
        assert size >= 16, words
    codes = {words.split()[0]: " ".join(words.split()[1:]).split(":")[0] for words, *_ in rows}
    assert codes["SE"] == "south-east"  # by the names
    assert codes["SE-i"] == "south-east, inner"
    plan = one.page.locator("figure.plate", has_text="North is up").locator("img").get_attribute("src")
    for code in codes:
        assert f"%3E{code}%20" in plan, code


@pytest.mark.parametrize(("phone", "dark"), [(False, False), (True, True)], ids=["wide light", "phone dark"])
def test_axe_finds_nothing_serious_in_what_is_opened_on_request(screen, axe, phone, dark):
    """Openings, what-ifs, the questions, the record inspected, and the form of the local rules with a refusal."""
    one = screen(phone=phone, dark=dark).open("?view=desk&rated=300&o=openings-0123456789ab", wait=".figures")
    page = one.settled().page
    found = []

    def try_rules(where):
        page.evaluate(axe)
        result = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
        found.extend(
            (where, fault["id"], [node["html"][:160] for node in fault["nodes"][:3]])
            for fault in result["violations"]
            if fault["impact"] in ("serious", "critical")
        )

    page.locator(".st-key-openings summary").click()
    page.locator(".st-key-openings-file").wait_for()
    page.locator(".st-key-what-ifs summary").click()
    page.locator(".st-key-what-ifs table").wait_for(timeout=90_000)
    for toggle in ("what-differs", "inspect-record"):
        page.locator(f".st-key-{toggle} label").first.click()
        one.settled()
    page.locator(".st-key-neighbours, .keep").first.wait_for(state="attached")
    try_rules("opened")
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)
    rules = one.change("local rules")
    upload = page.locator(".st-key-rule-file input[type=file]")
    upload.set_input_files({"name": "x.toml", "mimeType": "text/plain", "buffer": b"[rule]"})
    rules.get_by_role("alert").wait_for()
    one.settled()
    try_rules("local rules")
    assert found == []


def test_the_views_end_where_the_page_ends(screen):
    one = screen().open("?view=desk", wait=".figures").settled()
    last = one.page.get_by_role("radio", name="Print", exact=True).bounding_box()
    block = one.page.locator(".st-key-title-block").bounding_box()
    assert abs(last["x"] + last["width"] - block["x"] - block["width"]) <= 2


def test_forced_colours_still_tell_what_is_chosen_and_show_the_switches(browser, server):
    context = browser.new_context(forced_colors="active", viewport={"width": 1440, "height": 1000})
    page = context.new_page()
    page.goto(f"{server}/?view=desk")
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
    context.close()
