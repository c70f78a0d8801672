"""How quickly the page answers, measured in the browser: ``python tests/speed/page_speed.py``.

Prints medians over repeats: first useful view after the server is up, a chosen elevation, a changed index, a click on
the map (to the spot's figure, then to the whole answer of a place never asked before), the largest message, and the
same choice while twenty sessions are at work. Times run from the event in the browser to the frame that shows the
changed words; a chosen elevation is timed to its figures, to its schedule and to the last part that changes.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from playwright.sync_api import sync_playwright

from tests.browser.conftest import Screen, serve
from tests.conftest import CHROMIUM, FLAGS

REPEATS = 12
SESSIONS = 20
# From the click to the frame after which the changed words of each place are painted, in ms.
CHOOSE = """([name, places]) => new Promise(done => {
  const radio = [...document.querySelectorAll('[role=radio]')].find(e => e.textContent.trim() === name);
  const words = at => (document.querySelector(at) || {textContent: ''}).textContent;
  const before = places.map(words), seen = places.map(() => false), painted = places.map(() => null);
  const start = performance.now();
  const mark = (i) => { const after = new MessageChannel();
    after.port1.onmessage = () => { painted[i] = performance.now() - start; };
    after.port2.postMessage(0); };  // answered once this frame is painted
  const look = () => {
    places.forEach((at, i) => { if (!seen[i] && words(at) !== before[i]) { seen[i] = true; mark(i); } });
    if (painted.every(time => time !== null)) done(painted);
    else if (performance.now() - start > 20000) done(painted.map(time => time === null ? NaN : time));
    else requestAnimationFrame(look);
  };
  radio.click();
  look();
})"""
FIGURES, SCHEDULE, WRAP = ".figures", "table.schedule caption", "[data-testid=stExpander] p:has(+ .plate)"
NAMES = ["north-west", "south-west"]
WATCH_MAP = """() => {
  window.spotTime = null; window.spotStart = null;
  const frame = document.querySelector("iframe[title*='st_folium']").contentWindow;
  frame.addEventListener('pointerdown', () => { window.spotStart = performance.now(); }, {once: true, capture: true});
  const words = () => (document.querySelector('#spot') || {innerText: ''}).innerText;
  const before = words();
  const look = () => { if (words() !== before && words()) window.spotTime = performance.now() - window.spotStart;
    else requestAnimationFrame(look); };
  look();
}"""


def median(values: list[float]) -> str:
    return f"{statistics.median(values):.0f} ms (worst {max(values):.0f}, {len(values)} times)"


def reader(browser, address: str) -> Screen:
    """A reader whose requests are not held up one by one to be looked at; other tests look at them."""
    one = Screen(browser, address)
    one.context.unroute_all()
    return one


def choose(page, names: list[str], places: list[str]) -> list[list[float]]:
    """Times to the changed words of each place, over repeats; the page is left to settle between them."""
    found = []
    for turn in range(REPEATS):
        found.append(page.evaluate(CHOOSE, [names[turn % 2], places]))
        page.wait_for_timeout(400)
    return list(map(list, zip(*found, strict=True)))


def measure(address: str, up: float, browser) -> None:
    one = reader(browser, address)
    one.open("?view=desk", wait=".answers")
    print(f"three answers on screen after the server is up: {time.monotonic() - up:.2f} s", flush=True)
    one.page.wait_for_selector(".figures")
    print(f"second question on screen: {time.monotonic() - up:.2f} s", flush=True)
    one.settled()
    page = one.page
    page.set_default_timeout(120_000)
    again = []
    for _ in range(5):
        other = reader(browser, address)
        start = time.monotonic()
        other.open("?view=desk", wait=".answers")
        again.append(1000 * (time.monotonic() - start))
        other.close()
    print(f"three answers on screen, next readers: {median(again)}")
    page.wait_for_timeout(2000)
    figures, schedule, wrap = choose(page, NAMES, [FIGURES, SCHEDULE, WRAP])
    print("elevation chosen, first time of each, its figures:", f"{figures[0]:.0f}, {figures[1]:.0f} ms")
    print("elevation chosen, figures:", median(figures))
    print("elevation chosen, schedule:", median(schedule))
    print("elevation chosen, weeks of the bare wrap, the last part that changes:", median(wrap))
    (spot,) = choose(page, ["Worst spell", "A year"], ["#spot"])
    print("index changed:", median(spot))

    one.open("?view=desk", wait=".figures").settled()
    page.wait_for_timeout(3000)
    holder = page.locator("iframe[title*='st_folium']")
    spots, wholes = [], []
    for across, down in ((0.35, 0.45), (0.39, 0.47), (0.43, 0.49), (0.7, 0.6), (0.62, 0.56), (0.3, 0.48)):
        holder.scroll_into_view_if_needed()
        one.settled()
        page.wait_for_timeout(2500)  # the other places are compared beside the page after each move
        box = holder.bounding_box()
        before = page.locator(".title-cell").first.inner_text()
        page.evaluate(WATCH_MAP)
        start = time.monotonic()
        page.mouse.click(box["x"] + box["width"] * across, box["y"] + box["height"] * down)
        page.wait_for_function("() => window.spotTime !== null", timeout=20_000)
        spots.append(page.evaluate("window.spotTime"))
        page.wait_for_function(
            "b => document.querySelector('.title-cell').innerText !== b", arg=before, timeout=20_000
        )
        wholes.append(1000 * (time.monotonic() - start))
    print("click on the map, figure of the spot:", median(spots))
    print("click on the map, title and building assessed anew:", median(wholes))
    print(f"largest message to the browser: {max(one.frames):,} bytes")

    crowd = [reader(browser, address).open("?view=desk", wait=".figures") for _ in range(SESSIONS - 1)]
    page.goto(f"{address}/?view=desk")
    page.wait_for_selector(".figures")
    one.settled()
    for place, other in enumerate(crowd):
        other.page.evaluate(
            "([names, shift]) => setTimeout(() => setInterval(() => { window.turn = !window.turn;"
            " [...document.querySelectorAll('[role=radio]')].find(e => e.innerText.trim() === names[+window.turn]).click();"
            " }, 10000), shift)",
            [NAMES, 500 * place],
        )
    time.sleep(10)
    figures, schedule = choose(page, NAMES, [FIGURES, SCHEDULE])
    print(
        f"elevation chosen while {SESSIONS} sessions each choose every ten seconds, figures:", median(figures)
    )
    print("the same, schedule:", median(schedule))
    for other in [one, *crowd]:
        other.close()


def main() -> None:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        browser.new_page().close()
        with serve() as (address, up):
            measure(address, up, browser)
    print(
        "processors:", subprocess.run(["nproc"], capture_output=True, text=True, check=False).stdout.strip()
    )


if __name__ == "__main__":
    main()
