"""Each of the three users' jobs from the first screen to the file in hand, at the desk and on a phone, network shut."""

import csv
import io
import json
import re
import sqlite3
import subprocess
import urllib.parse

import pytest

from exposure.assess.compare_sites import compare_sites
from exposure.assess.reference_wall import reference_wall
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.cli import main
from exposure.district import assess_district
from exposure.export.district_files import write_district
from exposure.invented import invented_place
from exposure.invented.town import town_footprints
from exposure.paper.evidence.evidence_page import comparisons
from exposure.site.site_list import read_site_list
from exposure.wall.building import wall_shapes
from tests.browser.conftest import FORMS
from tests.test_many_sites import grid, weather


def saved(page, button: str, folder) -> bytes:
    """Press a download button and give what came."""
    with page.expect_download(timeout=60_000) as coming:
        page.get_by_role("button", name=button, exact=True).first.click()
    path = folder / coming.value.suggested_filename
    coming.value.save_as(path)
    return path.read_bytes()


@pytest.mark.parametrize("form", FORMS)
def test_designer_from_place_to_sheet(screen, tmp_path, form):
    one = screen(form=form).open("", wait=".answer").settled()
    page = one.page
    assert "South-west is worst: very severe." in one.words()
    page.get_by_role("radio", name="north-west", exact=True).click()
    page.locator("h2.part", has_text="North-west").wait_for()
    assert "e=north-west" in page.url
    one.part("All there is to build")
    page.get_by_role("radio", name="Head flashing", exact=True).click()
    page.get_by_text("Put a head flashing over every opening").wait_for()
    assert page.get_by_text("Who says so").count() >= 1
    page.get_by_role("button", name="Print", exact=True).click()
    page.wait_for_selector("text=Sheets of Wrack House")
    sheets = saved(page, "Sheets to print (HTML)", tmp_path).decode()
    assert sheets.startswith("<!doctype html>")
    assert "South-west" in sheets
    assert "do not build from it" in sheets
    assert not re.search(r"<script|https?://(?!www\.w3\.org)", sheets)
    paper = one.context.new_page()
    paper.goto(next(tmp_path.glob("*.sheets.html")).as_uri())
    assert (
        paper.locator(".sheet").first.bounding_box()["width"] == 794
    )  # A4 stays A4 on a screen of any width
    schedule = saved(page, "Schedule (CSV)", tmp_path).decode()
    assert "south-west" in schedule
    assert len(json.loads(saved(page, "Everything (JSON)", tmp_path))["elevations"]) == 6
    assert page.evaluate("document.documentElement.scrollWidth") <= one.width
    saved(page, "Building (GeoPackage)", tmp_path)
    with sqlite3.connect(next(tmp_path.glob("*.gpkg"))) as tables:
        assert tables.execute("select count(*) from gpkg_contents").fetchone()[0] >= 1


@pytest.mark.parametrize("form", FORMS)
def test_builder_from_link_to_file_for_the_site(screen, tmp_path, form):
    one = screen(form=form).open("", wait=".answer").settled()
    page = one.page
    page.get_by_role("radio", name="On site", exact=True).click()
    shown = page.frame_locator(".st-key-site-file iframe")
    shown.locator("html[data-ready]").wait_for(state="attached")
    box = shown.locator("input[type=checkbox]:enabled[id]").first
    name = box.get_attribute("id")
    box.evaluate("e => e.click()")
    assert "South-west" in shown.locator("body").inner_text()
    page.wait_for_timeout(1000)
    page.get_by_role("radio", name="Desk", exact=True).click()
    page.locator(".answer").wait_for()
    page.get_by_role("radio", name="On site", exact=True).click()
    again = page.frame_locator(".st-key-site-file iframe")
    again.locator("html[data-ready]").wait_for(state="attached")
    assert again.locator(f"#{name}").is_checked()  # kept by the browser, whatever view is looked at meanwhile
    assert page.evaluate("document.documentElement.scrollWidth") <= one.width
    content = saved(page, "Take to site", tmp_path)
    assert len(content) < 900_000
    file = next(tmp_path.glob("*.html"))
    one.context.set_offline(True)
    away = one.context.new_page()
    away.goto(file.as_uri())
    away.wait_for_selector("html[data-ready]", state="attached")
    assert "South-west" in away.inner_text("body")  # it opens with no network
    one.context.set_offline(False)


@pytest.mark.parametrize("form", FORMS)
def test_planner_from_map_to_comparison(screen, tmp_path, form):
    one = screen(form=form).open("", wait=".answer").settled()
    page = one.page
    one.change("place")
    page.get_by_label("Latitude, longitude").fill("48.75, -29.70")
    page.get_by_role("button", name="Go there").click()
    page.wait_for_url("**at=48.75*")
    one.settled()
    page.goto(f"{one.address}/?view=compare")
    page.wait_for_selector("table.ranking")
    one.settled()
    assert "How do these places compare?" in one.words()
    assert page.locator("table.ranking tbody tr").count() == 6
    marks = page.frame_locator("iframe[title='Map']").locator(".leaflet-marker-icon")
    marks.first.wait_for()
    assert {text.split()[0] for text in marks.all_inner_texts() if text} == set("123456")  # the ranks
    printed = saved(page, "Print (HTML)", tmp_path).decode()
    assert "A4 landscape" in printed
    rows = list(csv.DictReader(io.StringIO(saved(page, "Save as CSV", tmp_path).decode())))
    assert len(rows) == 6
    assert "Quern Bay" in {row["place"] for row in rows}
    assert page.evaluate("document.documentElement.scrollWidth") <= one.width


def saved_by_keys(one, button: str, folder) -> str:
    """Tab to a download button and press Enter; gives what came."""
    one.tab_to(f"e.tagName === 'BUTTON' && e.innerText.trim() === {button!r}")
    with one.page.expect_download(timeout=60_000) as coming:
        one.page.keyboard.press("Enter")
    path = folder / coming.value.suggested_filename
    coming.value.save_as(path)
    return path.read_text("utf-8")


def test_the_three_jobs_by_keyboard_alone(screen, tmp_path):
    """An elevation, its file for the site, its sheets, then the comparison: no pointer is used."""
    one = screen().open("", wait=".answer .figures").settled()
    page = one.page
    page.evaluate("document.activeElement.blur()")
    one.choose_by_keys("north-west")
    page.locator("h2.part", has_text="North-west").wait_for()
    assert "South-west" in saved_by_keys(one.settled(), "Take to site", tmp_path)
    one.choose_by_keys("Why these figures")
    page.get_by_text("Factors of the north-west elevation").wait_for()
    page.evaluate("() => { scrollTo(0, 0); document.activeElement.blur(); }")
    one.settled().tab_to("e.tagName === 'BUTTON' && e.innerText.trim() === 'Print'")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Sheets of Wrack House")
    assert "South-west" in saved_by_keys(one.settled(), "Sheets to print (HTML)", tmp_path)
    page.evaluate("() => { scrollTo(0, 0); document.activeElement.blur(); }")
    one.choose_by_keys("Compare")
    page.wait_for_selector("table.ranking")
    assert "A4 landscape" in saved_by_keys(one.settled(), "Print (HTML)", tmp_path)


def test_click_on_the_map_moves_the_building_there(screen):
    one = screen().open("?part=place", wait=".answer").settled()
    page = one.page
    frame = page.frame_locator("iframe[title='Map']")
    frame.locator(".leaflet-container").wait_for()
    holder = page.locator("iframe[title='Map']")
    holder.scroll_into_view_if_needed()
    box = holder.bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.7, box["y"] + box["height"] * 0.6)
    page.wait_for_url("**at=*")
    page.locator(".inputs").filter(has_not_text="Quern Bay").wait_for()  # the whole page follows the click
    query = urllib.parse.parse_qs(urllib.parse.urlparse(page.url).query)
    latitude, longitude = map(float, query["at"][0].split(","))
    assert 48.1 < latitude < 49.1
    assert -30.1 < longitude < -28.7


def test_how_the_numbers_were_checked_opens_on_the_page(screen):
    page = screen().open("", wait=".answer").settled().page
    page.locator(".st-key-evidence label").first.click()
    shown = page.frame_locator(".st-key-evidence-page iframe")
    shown.locator("table").first.wait_for()
    assert len(comparisons()) > 10
    assert all(one.what[1:] in shown.locator("body").inner_text() for one in comparisons()[:3])


def test_back_button_reload_and_a_second_tab(screen):
    one = screen().open("", wait=".answer").settled()
    page = one.page

    def shows(name: str, on=page) -> None:
        on.locator("h2.part", has_text=name).wait_for()

    page.get_by_role("radio", name="north-west", exact=True).click()
    shows("North-west")
    page.go_back()
    shows("South-west")
    page.go_forward()
    shows("North-west")
    page.reload()
    shows("North-west")
    other = one.context.new_page()
    other.goto(f"{one.address}/?e=north-east")
    shows("North-east", other)
    assert "north-west" in page.url


def test_a_project_saved_opens_again_elsewhere(screen, tmp_path):
    first = screen().open(
        "?view=print&b=box.14_7_90_5_2_hip&name=Long%20House&e=south", wait=".st-key-project"
    )
    content = saved(first.settled().page, "Save this project", tmp_path)
    assert b"Long House" in content
    second = screen().open("?view=print", wait=".st-key-project").settled()
    second.page.locator(".st-key-project input[type=file]").set_input_files(next(tmp_path.glob("*.toml")))
    second.page.wait_for_selector("text=Sheets of Long House")
    assert "b=box.14" in second.page.url


def list_of_sites(path):
    """Forty invented sites across the invented island, as a spreadsheet with decimal commas saves them, and a bad row."""
    rows = [
        f"Site {k};{48.3 + 0.006 * (k % 8) * 8:.4f};{-29.9 + 0.2 * (k // 8):.4f}".replace(".", ",")
        for k in range(40)
    ]
    path.write_text("\ufeffname;latitude;longitude\n" + "\n".join(rows) + "\nWrong;95;2\n", "utf-8")
    return path


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_planner_ranks_a_list_of_sites(screen, tmp_path, phone):
    one = screen(phone=phone).open("?view=compare", wait="table.ranking").settled()
    page = one.page
    page.locator(".st-key-change-places summary").first.click()
    page.locator(".st-key-compare-list-file input[type=file]").set_input_files(
        list_of_sites(tmp_path / "sites.csv")
    )
    if not phone:  # long work shows that it can be stopped; the same list asked again is kept
        page.get_by_role("button", name="Stop").wait_for()
    page.locator("table.ranking tbody tr").nth(39).wait_for(timeout=180_000)
    one.settled()
    assert "comes out hardest hit of 40" in one.words()
    assert "Row 42, Wrong" in one.words()
    bars = page.locator(".bars .narrow img" if phone else ".bars .roomy img").first
    assert bars.is_visible()
    rows = list(csv.DictReader(io.StringIO(saved(page, "Save as CSV", tmp_path).decode())))
    assert len(rows) == 40
    assert [int(row["rank"]) for row in rows] == sorted(int(row["rank"]) for row in rows)
    assert all(float(row["spell_low"]) <= float(row["spell"]) <= float(row["spell_high"]) for row in rows)
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)


def test_planner_chooses_the_places_and_sends_the_address(screen):
    one = screen(phone=True).open(
        "?view=compare&c=48.44%2C-29.68~48.6%2C-29.4%2C%3Cb%3EMill%3C%2Fb%3E~48.5%2C-29.2",
        wait="table.ranking",
    )
    page = one.settled().page
    rows = page.locator("table.ranking tbody tr")
    assert rows.count() == 3
    assert any("<b>Mill</b>" in row for row in rows.all_inner_texts())  # a name is a name
    page.locator(".st-key-change-places summary").first.click()
    page.get_by_label("Latitude, longitude (degrees").last.fill("48° 33′ N; 29° 30′ W")
    page.get_by_label("Its name, if you like").fill("Upper field")
    page.get_by_role("button", name="Add it").click()
    page.wait_for_url("**Upper*")
    rows.nth(3).wait_for(timeout=60_000)
    assert "48.55%2C-29.5%2CUpper" in page.url
    wide = page.locator(".bars .narrow img").first.bounding_box()["width"]
    assert 14 * wide / 300 >= 12  # the smallest words as shown


def test_an_answer_given_below_is_said_on_top(screen):
    """A tested air seal lowers the tray; the figures, the lines and the drawing say the same millimetres."""
    one = screen().open("?part=built", wait=".figures").settled()
    page = one.page

    def tray() -> str:
        return re.search(r"tray at least (\d+)", page.locator("ol.three").inner_text())[1]

    before = tray()
    asked = page.get_by_test_id("stSelectbox").filter(has_text="Will the inner air seal")
    asked.locator("input").first.click()
    page.keyboard.type("yes")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Use these answers").first.click()
    page.wait_for_url("**air_seal_tested*")
    page.wait_for_function(
        "was => !document.querySelector('ol.three').innerText.includes(`tray at least ${was}`)", arg=before
    )
    one.settled()
    assert int(tray()) < int(before)
    assert page.locator(".figures dd b").nth(3).inner_text() == tray()


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_planner_ranks_sites_by_files_of_their_own(screen, tmp_path, phone):
    """Grid, ground height, land cover and buildings from files; the figures are those of the command line's call."""
    place = invented_place(progress=False)
    records = [weather(seed, years=3) for seed in (1, 2, 3, 4)]
    files = {
        "grid": grid(tmp_path / "grid.nc", records, latitudes=(48.3, 48.7), longitudes=(-29.8, -29.2)),
        "ground": place.height,
        "cover": place.cover,
        "neighbours": place.houses,
    }
    houses = json.loads(place.houses.read_text("utf-8"))["features"][:4]
    rows = [
        f"House {k},{one['geometry']['coordinates'][0][0][1]:.5f},{one['geometry']['coordinates'][0][0][0]:.5f}"
        for k, one in enumerate(houses)
    ]
    sites = tmp_path / "sites.csv"
    sites.write_text("name,latitude,longitude\n" + "\n".join(rows) + "\n", "utf-8")
    one = screen(phone=phone).open("?view=compare", wait="table.ranking").settled()
    page = one.page
    page.locator(".st-key-change-places summary").first.click()
    page.locator(".st-key-compare-list-file input[type=file]").set_input_files(sites)
    page.locator("table.ranking", has_text="House 3").wait_for(timeout=120_000)
    for kind, path in files.items():
        page.locator(f".st-key-compare-{kind}-file input[type=file]").set_input_files(path)
        page.locator(".st-key-places .inputs", has_text=path.name).wait_for()
        one.settled()
    page.get_by_text("among the buildings around").locator("visible=true").first.wait_for(timeout=120_000)
    one.settled()
    shown = {
        row["place"]: row
        for row in csv.DictReader(io.StringIO(saved(page, "Save as CSV", tmp_path).decode()))
    }
    told = compare_sites(
        read_site_list(sites, shapes=wall_shapes()),
        GridWeather(files["grid"]),
        wall=reference_wall("two-storey gable"),
        **{kind: path for kind, path in files.items() if kind != "grid"},
    )
    assert {site.name: round(site.value, 1) for site in told.sites} == {
        name: float(row["spell"]) for name, row in shown.items()
    }
    assert page.get_by_text("do not build from it").count() == 0  # nothing here is made up by us
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)


def printed(one, html: bytes, folder, name: str) -> str:
    """The text of a saved page as the browser prints it, sheet by sheet, each sheet on its own in the list."""
    path = folder / f"{name}.html"
    path.write_bytes(html)
    sheet = one.context.new_page()
    sheet.goto(path.as_uri())
    sheet.pdf(path=str(folder / f"{name}.pdf"), prefer_css_page_size=True)
    sheet.close()
    return subprocess.run(
        ["pdftotext", "-layout", str(folder / f"{name}.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout


def test_planner_ranks_places_and_prints_the_ranking(screen, tmp_path):
    one = screen().open("?view=compare", wait="table.ranking").settled()
    sheets = printed(one, saved(one.page, "Print (HTML)", tmp_path), tmp_path, "comparison")
    shown = [
        row.split("\n")[0].split("\t")[0]
        for row in one.page.locator("table.ranking tbody tr").all_inner_texts()
    ]
    order = [sheets.index(f"{name} ", sheets.index("All places")) for name in shown]
    assert order == sorted(order)  # as ranked on the page
    assert "years count; hours from 0.1 mm count" in " ".join(sheets.split())
    assert "do not build from it" in sheets
    assert sheets.count("\f") <= 3


def test_planner_maps_a_town_and_prints_its_shares(screen, tmp_path):
    one = screen().open("?view=town").settled()
    page = one.page
    town = tmp_path / "town.geojson"
    town.write_text(json.dumps(town_footprints(20)), "utf-8")
    page.locator(".st-key-town-file input[type=file]").set_input_files(town)
    page.locator(".st-key-town-map iframe").wait_for(timeout=180_000)
    one.settled()
    lead = page.locator("p.lead").first.inner_text()
    assert "of wall is severe or very severe" in lead
    inside = page.frame_locator(".st-key-town-map iframe")
    inside.locator(".leaflet-container").wait_for()
    sheets = printed(one, saved(page, "Print (HTML)", tmp_path), tmp_path, "shares")
    assert " ".join(lead.split()) in " ".join(sheets.split())  # paper says what the screen says
    assert "Sources" in sheets
    assert "years count" in sheets
    rows = list(csv.DictReader(io.StringIO(saved(page, "Walls as CSV", tmp_path).decode())))
    hard = sum(float(row["length"]) for row in rows if row["class"] in ("severe", "very severe"))
    assert f"{hard / sum(float(row['length']) for row in rows):.0%} of" in lead  # added up from the file


def test_planner_defends_a_change_with_a_page_that_prints(screen, tmp_path):
    """The same town in a plain record and in one with six times the rain: what changes is told, printed, and adds up."""
    town = tmp_path / "town.geojson"
    town.write_text(json.dumps(town_footprints(12)), "utf-8")
    for name, more in (("before", 1.0), ("after", 6.0)):
        record = weather(years=12)
        record["rain"] = record["rain"] * more
        district = assess_district(town, OneRecord(record), terrain="II")
        write_district(tmp_path / name, district)
    assert (
        main(["change", str(tmp_path / "before"), str(tmp_path / "after"), "--out", str(tmp_path / "change")])
        == 0
    )
    one = screen()
    page = one.page
    page.goto((tmp_path / "change" / "change.html").as_uri())
    lead = page.locator("p.lead").inner_text()
    assert lead.startswith(
        "Worst spells rise clearly on 100%"
    )  # six times the rain is 6^(8/9) = 4.9 times the index, on every wall
    sheets = printed(one, (tmp_path / "change" / "change.html").read_bytes(), tmp_path, "change-printed")
    assert " ".join(lead.split()) in " ".join(sheets.split())
    rows = list(csv.DictReader((tmp_path / "change" / "change.csv").open()))
    moved = sum(float(row["length"]) for row in rows if row["class_before"] != row["class_after"])
    assert f"{moved:,.0f} m change their class" in page.inner_text("body")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1440
    for width in (390, 320):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
