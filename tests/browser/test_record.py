"""A phone on site with its network off: three windows recorded, reloaded, exported, and handed over at the desk."""

import json

import pytest

from exposure.assess.site_record import MOST_PHOTOS
from exposure.cli import main
from exposure.detail.openings import Opening
from exposure.paper.register import register_json, register_of
from exposure.paper.sheet_plan import sheet_plan
from exposure.paper.site_file import site_file_html
from exposure.wall.building import box_building
from tests.browser.conftest import PHONE
from tests.test_show_sheet import detailed
from tests.test_site_record import jpeg

HOLD = "As drawn"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """What the office sends to site, and keeps."""
    house = box_building(name="Wrack House", length=12, width=8, bearing=142, height=5.6)
    listed = (Opening("south-west", 900, 1200, 2), Opening("north-east", 600, 900, 1))
    details = detailed(house, openings=listed, years=2)
    at = tmp_path_factory.mktemp("house")
    (at / "site.html").write_text(site_file_html(details), "utf-8")
    (at / "register.json").write_text(register_json(register_of(sheet_plan(details))), "utf-8")
    (at / "photo.jpg").write_bytes(jpeg((2600, 1900)))
    return at


@pytest.fixture
def page(browser, folder):
    context = browser.new_context(**PHONE, offline=True, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(20_000)
    page.faults = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    page.on("request", lambda request: page.faults.append(request.url) if "http" in request.url[:5] else None)
    yield page
    assert page.faults == []
    context.close()


def ready(page, folder):
    page.goto((folder / "site.html").as_uri())
    page.wait_for_selector("html[data-ready]", state="attached")


def fill(page, folder, mark, who):
    page.locator(f"a[data-mark={mark}]").click()
    page.wait_for_selector(f".now .which:has-text('{mark}')")
    hold = page.locator(".now li[data-hold]").first
    hold.locator("label[for]").tap()
    hold.get_by_text(HOLD, exact=True).tap()
    hold.locator("[data-field=by]").fill(who)
    hold.locator("[data-field=moisture]").fill("17,5")
    hold.locator("[type=file]").set_input_files(folder / "photo.jpg")
    hold.locator(".photos img").wait_for()
    page.locator(".now [data-signed]").fill(who)
    page.locator(".now .sign").click()
    page.wait_for_selector(f".now .signed:has-text('Signed by {who}')")
    page.locator(".now .back").click()


@pytest.mark.slow
def test_three_windows_go_from_the_phone_to_the_handover_sheet(page, folder, tmp_path, capsys):
    ready(page, folder)
    for mark, who in (("SW1", "A. Invented"), ("SW2", "B. Invented"), ("NE1", "Ç. <b>Invented</b>")):
        fill(page, folder, mark, who)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    page.wait_for_selector(f"#amount:has-text('3 of at most {MOST_PHOTOS} photos')")
    page.locator("a[data-mark=NE1]").click()
    page.locator(".now .photos img").wait_for()
    assert page.locator(".now [data-field=by]").first.input_value() == "Ç. <b>Invented</b>"
    with page.expect_download() as waited:
        page.locator("#export").click()
    path = tmp_path / waited.value.suggested_filename
    waited.value.save_as(path)
    photos = json.loads(path.read_text("utf-8"))["record"]["photos"]
    assert [one["number"] for one in photos] == [1, 2, 3]
    assert main(["record", str(path), "--folder", str(folder), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    for mark in ("SW1", "SW2", "NE1"):
        assert f"{mark}: no result at step" in said  # the later hold points are still open
    html = (tmp_path / "out" / "handover.html").read_text("utf-8")
    assert html.count("data:image/jpeg;base64,") == 3
    assert "Ç. &lt;b&gt;Invented&lt;/b&gt;" in html
    assert html.count("17.5\u00a0%") == 3
    sheet = page.context.new_page()
    sheet.goto((tmp_path / "out" / "handover.html").as_uri())
    sizes = sheet.evaluate("[...document.images].map(one => one.naturalWidth)")
    assert sizes == [1280] * 3  # the phone scaled them, and each can be seen
    assert sheet.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0


def test_a_phone_short_of_room_says_so_before_a_photo_is_lost(page, folder):
    page.add_init_script("navigator.storage.estimate = async () => ({quota: 105e6, usage: 100e6})")
    ready(page, folder)
    page.wait_for_selector("#warning:has-text('5.0 MB left')")
    page.locator("a[data-mark=SW1]").click()
    hold = page.locator(".now li[data-hold]").first
    hold.locator("[type=file]").set_input_files(folder / "photo.jpg")
    page.wait_for_selector("#warning:has-text('Export the record and make room')")
    assert hold.locator(".photos img").count() == 0


def test_what_is_no_photo_is_not_kept_and_an_opening_can_be_added(page, folder, tmp_path):
    (tmp_path / "drawn.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
    )
    ready(page, folder)
    adding = page.locator("#e1 .openings details, section.elevation .openings details").first
    adding.locator("summary").click()
    adding.locator("[name=width]").fill("600")
    adding.locator("[name=height]").fill("800")
    adding.get_by_role("button", name="Add").click()
    page.wait_for_selector(".now .which:has-text('600 × 800')")
    hold = page.locator(".now li[data-hold]").first
    hold.locator("[type=file]").set_input_files(tmp_path / "drawn.svg")
    page.wait_for_selector("#warning:has-text('no photo that the phone can open')")
    page.reload()
    page.wait_for_selector(".now .which:has-text('600 × 800')")  # it is kept
