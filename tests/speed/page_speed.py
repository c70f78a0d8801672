"""How quickly the page answers, measured in the browser: ``python tests/speed/page_speed.py``.

Prints one table: each goal, what was measured (median, worst, how often), and whether it is met. Times run from the
event in the browser to the frame that shows the changed words. The first start ever is measured in a cache of its own.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[1]))

from playwright.sync_api import sync_playwright

from tests.browser.conftest import Screen, serve
from tests.browser.test_narrow import WORDS_SEEN
from tests.conftest import CHROMIUM, FLAGS

REPEATS = 12
NAMES = ["north-west", "south-west"]
# From the press to the frame after which the changed words of each place are painted, in ms.
CHOOSE = """([name, places]) => new Promise(done => {
  const radio = [...document.querySelectorAll('[role=radio]')].find(e => e.textContent.trim() === name);
  const shown = e => e.checkVisibility({checkVisibilityCSS: true});
  const words = at => { const e = [...document.querySelectorAll(at)].find(shown);
    return e ? (e.alt || e.textContent) : ''; };
  const before = places.map(words), painted = places.map(() => null);
  const start = performance.now();
  const mark = (i) => { const after = new MessageChannel();
    after.port1.onmessage = () => { painted[i] = performance.now() - start; };
    after.port2.postMessage(0); };  // answered once this frame is painted
  const seen = places.map(() => false);
  const look = () => {
    places.forEach((at, i) => { const now = words(at);
      if (!seen[i] && now && now !== before[i]) { seen[i] = true; mark(i); } });
    if (painted.every(time => time !== null)) done(painted);
    else if (performance.now() - start > 20000) done(painted.map(time => time === null ? NaN : time));
    else requestAnimationFrame(look);
  };
  radio.click();
  look();
})"""
WATCH_MAP = """() => {
  window.spotTime = null; window.spotStart = null;
  const frame = document.querySelector("iframe[title='Map']").contentWindow;
  frame.addEventListener('pointerdown', () => { window.spotStart = performance.now(); }, {once: true, capture: true});
  const words = () => (document.querySelector('#spot') || {innerText: ''}).innerText;
  const before = words();
  const look = () => { if (words() !== before && words()) window.spotTime = performance.now() - window.spotStart;
    else requestAnimationFrame(look); };
  look();
}"""
LINES: list[tuple[str, float, list[float], str]] = []  # what, goal, measured, unit


def note(what: str, goal: float, measured: list[float], unit: str = "ms") -> None:
    LINES.append((what, goal, measured, unit))
    print(f"  {what}: {statistics.median(measured):,.0f} {unit}", file=sys.stderr, flush=True)


def table() -> str:
    """The goals beside what was measured."""
    rows = [f"{'what':58} {'goal':>9} {'median':>9} {'worst':>9} {'times':>5}  met"]
    for what, goal, measured, unit in LINES:
        middle, worst = statistics.median(measured), max(measured)
        met = "yes" if middle <= goal else "no"
        rows.append(
            f"{what:58} {goal:>6,.0f} {unit:2} {middle:>6,.0f} {unit:2} {worst:>6,.0f} {unit:2} {len(measured):>5}  {met}"
        )
    return "\n".join(rows)


def reader(browser, address: str, **kind) -> Screen:
    """A reader whose requests are not held up one by one to be looked at; other tests look at them."""
    one = Screen(browser, address, **kind)
    one.context.unroute_all()
    return one


def choose(page, places: list[str]) -> list[list[float]]:
    """Times to the changed words of each place, over repeats; the page is left to settle between them."""
    found = []
    for turn in range(REPEATS):
        found.append(page.evaluate(CHOOSE, [NAMES[turn % 2], places]))
        page.wait_for_timeout(400)
    return list(map(list, zip(*found, strict=True)))


def timed(act: Callable[[], object]) -> float:
    start = time.monotonic()
    act()
    return 1000 * (time.monotonic() - start)


def first_view(browser, address: str) -> None:
    """From the address typed to the answer, for readers after the first."""
    times = []
    for _ in range(5):
        one = reader(browser, address)
        times.append(timed(lambda one=one: one.open("", wait=".answer .figures")))
        one.close()
    note("first useful view, warm", 2000, times)


def elevations(page) -> None:
    figures, drawing = choose(page, [".figures", ".first .plate img"])
    note("elevation chosen, seen before, to its figures", 100, figures[2:])
    note("elevation chosen, seen before, to its drawing", 150, drawing[2:])
    note("elevation chosen, first time of each, to its figures", 100, figures[:2])


def new_places(one: Screen) -> None:
    """A place never asked before, typed into the form."""
    page, times = one.page, []
    for turn in range(5):
        one.open("", wait=".answer").settled()
        one.change("place")
        field = page.get_by_label("Latitude, longitude").first
        field.fill(f"48.{50 + 2 * turn}, -29.{40 + turn}")
        before = page.locator(".figures").first.inner_text()
        start = time.monotonic()
        field.press("Enter")
        page.wait_for_function(
            "b => { const e = document.querySelector('.figures');"
            " return e && e.checkVisibility({checkVisibilityCSS: true}) && e.innerText !== b; }",
            arg=before,
        )
        times.append(1000 * (time.monotonic() - start))
    note("new place, to its figures", 400, times)


def map_clicks(one: Screen) -> None:
    page, times = one.page, []
    one.open("?part=place", wait=".figures").settled()
    holder = page.locator("iframe[title='Map']")
    for across, down in ((0.35, 0.45), (0.43, 0.49), (0.6, 0.5), (0.7, 0.6), (0.5, 0.35)):
        holder.scroll_into_view_if_needed()
        one.settled()
        page.wait_for_timeout(1500)
        box = holder.bounding_box()
        page.evaluate(WATCH_MAP)
        page.mouse.click(box["x"] + box["width"] * across, box["y"] + box["height"] * down)
        page.wait_for_function("() => window.spotTime !== null", timeout=60_000)
        times.append(page.evaluate("window.spotTime"))
    note("click on the map, to the figure of the spot", 100, times)


def own_record(browser, address: str, folder: Path) -> None:
    """Two years of a gauge and a house by its sizes, from the file chosen to the answer."""
    path = folder / "gauge.csv"
    hours = [
        f"{year}-{month:02}-{day:02}T{hour:02}:00Z,{4 + hour % 7},{200 + day * 3},{0.4 if (day + hour) % 9 == 0 else 0}"
        for year in (2015, 2016)
        for month in range(1, 13)
        for day in range(1, 29)
        for hour in range(24)
    ]
    head = "# kind: gauge\ntime,wind_speed [m/s],wind_from_direction [degree],rain [mm]\n"
    times = []
    for turn in range(3):
        path.write_text(f"{head}" + "\n".join([*hours, f"2017-01-01T00:00Z,5,240,0.{turn + 1}"]))
        one = reader(browser, address).open("?at=51.5,-3.2&b=box.12_8_45_6_2_gable", wait="h1").settled()
        one.change("weather record")
        upload = one.page.locator(".st-key-record-file input[type=file]")
        start = time.monotonic()
        upload.set_input_files(path)
        one.page.wait_for_url("**w=file-*", timeout=60_000)
        one.page.locator(".answer .figures").wait_for(timeout=60_000)
        times.append(1000 * (time.monotonic() - start))
        one.close()
    note("first answer for own record and house", 3000, times)


def first_screen(browser, address: str) -> None:
    one = reader(browser, address)
    one.page.set_viewport_size({"width": 1440, "height": 900})
    page = one.open("", wait=".answer").settled().page
    note("words on the first screen, 1440 by 900", 120, [page.evaluate(WORDS_SEEN)], "")
    plan = page.locator(".plan .roomy img").bounding_box()
    note("foot of the plan", 900, [plan["y"] + plan["height"]], "px")
    height = page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
    note("whole desk, closed", 3000, [height], "px")
    one.close()
    phone = reader(browser, address, phone=True)
    page = phone.open("", wait=".answer").settled().page
    drawing = page.locator(".first .plate").first.bounding_box()
    note("foot of the drawing on a phone (two screens)", 1688, [drawing["y"] + drawing["height"]], "px")
    note("largest message to the browser, desk", 300, [max(phone.frames) / 1000], "kB")
    phone.close()


def first_start(browser) -> None:
    """The first start ever on a machine: from the command to the answer."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as cache:  # the region is still being made
        before = os.environ.get("EXPOSURE_CACHE")
        os.environ["EXPOSURE_CACHE"] = cache
        start = time.monotonic()
        try:
            with serve() as (address, _):
                reader(browser, address).open("", wait=".answer .figures").close()
                note(
                    "first start ever, command to first useful view",
                    20_000,
                    [1000 * (time.monotonic() - start)],
                )
        finally:
            os.environ.pop("EXPOSURE_CACHE")
            if before is not None:
                os.environ["EXPOSURE_CACHE"] = before


def main() -> None:
    with sync_playwright() as driver, tempfile.TemporaryDirectory() as folder:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        browser.new_page().close()
        with serve() as (address, _):
            first_view(browser, address)
            one = reader(browser, address).open("", wait=".answer").settled()
            one.page.set_default_timeout(120_000)
            one.page.wait_for_timeout(1500)
            elevations(one.page)
            new_places(one)
            map_clicks(one)
            one.close()
            own_record(browser, address, Path(folder))
            first_screen(browser, address)
        first_start(browser)
    cores = subprocess.run(["nproc"], capture_output=True, text=True, check=False).stdout.strip()
    print(table())
    print(f"processors: {cores}; load of the last minute: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
