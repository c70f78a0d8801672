"""Hostile names and uploads: nothing runs, the former record stays, the refusal has three parts."""

import json
import re
import tempfile
import urllib.parse
from pathlib import Path

import numpy as np
import pytest

HOSTILE = "\"><img src=x onerror=window.hurt=1><script>window.hurt=1</script>'`${1}</style>\u202eright"


@pytest.mark.parametrize("view", ["desk", "site", "print"])
def test_a_hostile_name_is_only_text(screen, view):
    one = screen().open(f"?view={view}&name={urllib.parse.quote(HOSTILE)}", wait="h1").settled()
    one.page.wait_for_selector("text=onerror", state="attached")
    assert one.page.evaluate("window.hurt === undefined")
    assert one.page.locator("img[src='x']").count() == 0
    assert "\u202e" not in one.words()


def open_record_form(one):
    one.change("weather record")
    return one.page.locator(".st-key-record-file input[type=file]")


def test_a_file_that_is_no_record_is_refused_and_the_record_before_stays(screen, tmp_path):
    wrong = tmp_path / "<b>notes.csv"
    wrong.write_text("time,rain\n1,2\n")
    one = screen().open("?view=print", wait=".st-key-project").settled()
    open_record_form(one).set_input_files(wrong)
    alert = one.page.get_by_role("alert")
    alert.wait_for()
    for word in ("Came", "Expected", "Do"):
        assert word in alert.inner_text()
    assert "<b>notes.csv" in alert.inner_text()
    assert "Invented grid" in one.words()
    one.page.get_by_role("button", name="Keep the record before").click()
    alert.wait_for(state="detached")


def test_a_record_of_ones_own_is_read_and_used(screen, tmp_path):
    lines = ["time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"]
    for hour in range(8760):
        day, clock = divmod(hour, 24)
        month, date = _date(day)
        wind, rain = f"{4 + hour % 7},{200 + hour * 13 % 90}", 0.5 if hour * 37 % 101 < 8 else 0
        lines.append(f"2021-{month:02d}-{date:02d}T{clock:02d}:00Z,{wind},{rain}")
    mine = tmp_path / "mine.csv"
    mine.write_text("\n".join(lines))
    one = screen().open("?view=print&at=51.5%2C-3.2", wait="[role=alert]").settled()
    one.page.get_by_role("button", name="Back to the invented island").wait_for()  # a way on besides a record
    open_record_form(one).set_input_files(mine)
    one.page.wait_for_url("**w=file-*")
    one.settled()
    assert "mine.csv" in one.words()
    other = screen().open(one.page.url.partition("?")[2].join(["?", ""]), wait="h1").settled()
    other.page.wait_for_selector("text=does not hold")  # the record does not travel in the address


def _date(day: int) -> tuple[int, int]:
    for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), start=1):
        if day < days:
            return month, day + 1
        day -= days
    raise AssertionError(day)


EXAMPLE = Path(__file__).parents[2] / "exposure" / "invented" / "example"


def open_openings(one):
    """Open the assumption on the windows of the job; gives its upload."""
    one.page.get_by_role("radio", name=re.compile("^Openings: ")).click()
    upload = one.page.locator(".st-key-openings-file input[type=file]")
    upload.wait_for(state="attached")
    one.settled()
    return upload


def open_rules(one):
    """Open the form of the local rules; gives its upload."""
    one.change("local rules")
    return one.page.locator(".st-key-rule-file input[type=file]")


@pytest.mark.parametrize(
    ("content", "came"),
    [
        (b"elevation,width,height\n" + b"north,900,1200\n" * 20_000, "300,023 bytes"),
        ("elevation,width,height\nnörd,900,1200\n".encode("latin-1"), "no UTF-8 text"),
        (b"elevation,width,height\n<img src=x onerror=window.hurt=1>,900,1200\n", "onerror"),
    ],
    ids=["300 kB", "wrong encoding", "markup"],
)
def test_a_hostile_openings_list_is_refused_and_nothing_runs(screen, tmp_path, content, came):
    wrong = tmp_path / "'><b>list.csv"
    wrong.write_bytes(content)
    one = screen().open("?view=desk", wait=".figures").settled()
    open_openings(one).set_input_files(wrong)
    alert = one.page.get_by_role("alert")
    alert.wait_for()
    for word in ("Came", "Expected", "Do", came):
        assert word in alert.inner_text()
    assert one.page.evaluate("window.hurt === undefined")
    assert one.page.locator("img[src='x']").count() == 0
    assert "o=openings" not in one.page.url


def test_an_openings_list_of_ten_megabytes_is_stopped_in_the_browser(screen):
    one = screen().open("", wait=".figures").settled()
    content = b"elevation,width,height\n" + b"north,900,1200\n" * 700_000
    open_openings(one).set_input_files({"name": "list.csv", "mimeType": "text/csv", "buffer": content})
    one.page.get_by_text("File must be 1.0MB or smaller").wait_for()
    assert "o=openings" not in one.page.url


def test_a_rule_file_with_markup_is_only_text(screen, tmp_path):
    text = (EXAMPLE / "office_rule.toml").read_text("utf-8")
    text = text.replace(
        "Reedmouth Office (invented), house rules", "<img src=x onerror=window.hurt=1> [a](javascript:1)"
    )
    text = text.replace("Has the site foreman", "**<script>window.hurt=1</script>** Has the site foreman")
    text = text.replace("The back of every tray", "<svg onload=window.hurt=1> The back of every tray")
    mine = tmp_path / "office.toml"
    mine.write_text(text, "utf-8")
    one = screen().open("?view=desk", wait=".figures").settled()
    open_rules(one).set_input_files(mine)
    one.page.wait_for_url("**r=rule-*")
    one.settled()
    one.page.wait_for_selector("text=onerror")
    form = one.change("local rules").inner_text()
    assert "**<script>window.hurt=1</script>**" in form  # shown as the letters it is
    assert "[a](javascript:1)" in form
    assert one.page.evaluate("window.hurt === undefined")
    assert one.page.locator("img[src='x'], svg[onload], a[href^='javascript']").count() == 0


def test_two_tabs_do_not_share_a_list_and_the_second_says_that_it_is_missing(screen):
    one = screen().open("?view=desk", wait=".figures").settled()
    open_openings(one).set_input_files(EXAMPLE / "openings.csv")
    one.page.wait_for_url("**o=openings-*")
    one.page.get_by_role("radio", name="Openings: 10 listed").wait_for()
    other = one.context.new_page()
    other.goto(one.page.url)
    other.wait_for_selector("text=that this session does not hold")
    other.get_by_role("button", name="Leave the openings list out").click()
    other.wait_for_url(lambda url: "o=openings" not in url)
    other.wait_for_selector("text=that this session does not hold", state="detached")
    assert "o=openings-" in one.page.url  # the first keeps it


def test_stop_on_an_upload_stops_the_reading(screen, tmp_path):
    """A record of many seconds is stopped: its folder is gone within a second, and nothing of it is used."""
    stamps = np.datetime_as_string(np.datetime64("1901-01-01T00", "h") + np.arange(1_000_000), unit="m")
    large = tmp_path / "large.csv"
    head = "time,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"
    large.write_text(head + "\n".join(f"{stamp}Z,5,240,0.2" for stamp in stamps))
    before = set(Path(tempfile.gettempdir()).glob("exposure-record-*"))
    one = screen().open("?view=print", wait=".st-key-project").settled()
    open_record_form(one).set_input_files(large)
    stop = one.page.get_by_role("button", name="Stop", exact=True)
    stop.wait_for()
    one.page.wait_for_timeout(500)
    working = set(Path(tempfile.gettempdir()).glob("exposure-record-*")) - before
    assert working  # it is really reading
    stop.click()
    stop.wait_for(state="detached")
    one.page.wait_for_timeout(1000)
    assert not any(folder.exists() for folder in working)
    assert "w=file-" not in one.page.url
    assert "Invented grid" in one.words()


def test_a_project_opens_in_a_fresh_server_with_the_same_answer(browser, server, tmp_path):
    """Openings, an office's rule with its answer and the window offered come back after a restart.

    What a user reads in the terminal meanwhile: three lines, and nothing of the libraries below.
    """
    from conftest import Screen, serve

    one = Screen(browser, server, motion=False).open("?view=desk&rated=300", wait=".figures").settled()
    open_openings(one).set_input_files(EXAMPLE / "openings.csv")
    one.page.wait_for_url("**o=openings-*")
    one.settled()
    open_rules(one).set_input_files(EXAMPLE / "office_rule.toml")
    one.page.wait_for_url("**r=rule-*")
    one.settled()
    one.page.keyboard.press("Escape")
    one.page.get_by_role("radio", name="Print", exact=True).click()
    one.page.wait_for_selector(".st-key-project")
    one.settled()
    project, before = tmp_path / "job.project.toml", tmp_path / "before.json"
    for button, path in (("Save this project", project), ("Everything (JSON)", before)):
        with one.page.expect_download(timeout=60_000) as coming:
            one.page.get_by_role("button", name=button, exact=True).click()
        coming.value.save_as(path)
    asked = one.page.url.partition("?")[2]
    one.check()
    one.close()
    terminal = tmp_path / "terminal.txt"
    with terminal.open("w+b") as told, serve(told) as (address, _):
        again = Screen(browser, address, motion=False).open("?view=desk", wait=".figures").settled()
        again.open("?view=print", wait=".st-key-project").settled()
        again.page.locator(".st-key-project input[type=file]").set_input_files(project)
        again.page.wait_for_url("**o=openings-*")
        again.settled()
        again.page.wait_for_timeout(500)
        with again.page.expect_download(timeout=60_000) as coming:
            again.page.get_by_role("button", name="Everything (JSON)", exact=True).click()
        coming.value.save_as(tmp_path / "after.json")
        assert sorted(again.page.url.partition("?")[2].split("&")) == sorted(asked.split("&"))
        again.check()
        again.close()
    said = terminal.read_text("utf-8").splitlines()
    assert len(said) == 3, said
    assert said[0].startswith("Reading what the page needs")
    assert said[1] == f"The page is at {address} (Ctrl-C ends it)."
    assert "phone" in said[2]
    assert re.search(r"--address \d|Take to site", said[2])
    first, after = (
        json.loads((tmp_path / name).read_text("utf-8")) for name in ("before.json", "after.json")
    )
    assert after == first
    assert first["take_off"]["openings"] == 10
    assert any("Reedmouth" in rule["rule"] for rule in first["elevations"][0]["rules"])


def test_a_building_is_opened_from_its_file_and_another_session_says_that_it_is_missing(screen):
    one = screen().open("?view=print", wait=".st-key-project").settled()
    page = one.page
    form = one.change("house")
    form.get_by_role("radio", name="From a file").click()
    one.settled()
    page.locator(".st-key-house-file input[type=file]").set_input_files(EXAMPLE / "house.toml")
    page.wait_for_url("**b=file.building-*")
    form.get_by_text("4 elevations, 2 storeys, walls up to 8.6").wait_for()
    assert form.is_visible()  # it stays open: the next field is at hand
    page.locator(".st-key-house-file input[type=file]").set_input_files(
        {"name": "wrong.toml", "mimeType": "text/plain", "buffer": b"a = 1"}
    )
    form.get_by_role("alert").wait_for()
    assert "4 elevations" in one.words()  # the building before stays
    other = screen().open("?" + page.url.partition("?")[2], wait="h1").settled()
    other.page.wait_for_selector("text=does not hold")
