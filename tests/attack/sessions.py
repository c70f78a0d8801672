"""Fifty readers at once: ``python tests/attack/sessions.py --readers 50 --minutes 10``.

Each reader has a list of openings under a name of his own, and presses an elevation from time to time. At no moment may a
page show another reader's name. When all have gone, the server has to have no more open files, child processes, threads or
files on disk than a server that has had one reader, and memory has to have stopped growing in the second half of the run.
The web server's pool, which reads the files of a page being opened, lets its idle threads go at the next request: one is
made before the threads are counted.
"""

import argparse
import asyncio
import gc
import os
import re
import statistics
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import psutil

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from playwright.async_api import Browser, Page, TimeoutError, async_playwright

from tests.browser.conftest import serve
from tests.conftest import CHROMIUM, FLAGS

MARK = re.compile(r"reader-\d\d")
THREADS = 2  # more than before that may be at work by chance when they are counted
GONE = 150  # s; a session whose line is cut is kept for two minutes
WALLS = ["north-west", "north-east", "south-east", "south-west"]


class Reader:
    """One browser context with a name of its own."""

    def __init__(self, number: int) -> None:
        self.mark = f"reader-{number:02d}"
        self.page: Page | None = None
        self.presses = self.late = 0
        self.others: set[str] = set()
        self.errors: list[str] = []

    async def come(self, browser: Browser, address: str) -> None:
        """Open the page and hand in a list of openings under the own name."""
        context = await browser.new_context(viewport={"width": 1280, "height": 900})
        self.page = await context.new_page()
        self.page.set_default_timeout(240_000)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        await self.page.goto(f"{address}/?view=desk")
        await self.page.wait_for_selector(".figures")
        await self.page.get_by_role("radio", name=re.compile("^Openings: ")).click()
        rows = f"elevation,width,height,count,name\nnorth-west,900,1200,2,{self.mark}\n"
        box = self.page.locator(".st-key-openings-file input[type=file]")
        await box.set_input_files(
            {"name": f"{self.mark}.csv", "mimeType": "text/csv", "buffer": rows.encode()}
        )
        await self.page.get_by_text(self.mark).first.wait_for(state="attached")

    async def stay(self, until: float, pause: float, number: int) -> None:
        """Press walls until then, and look for names that are not one's own."""
        assert self.page is not None
        await asyncio.sleep(pause * number / 50)
        while time.monotonic() < until:
            wall = WALLS[(self.presses + number) % len(WALLS)]
            try:
                await self.page.get_by_role("radio", name=wall, exact=True).click(
                    timeout=60_000, no_wait_after=True
                )
                await self.page.locator("h2.part", has_text=wall.capitalize()).first.wait_for(timeout=60_000)
            except TimeoutError:
                self.late += 1
            self.presses += 1
            self.others |= set(MARK.findall(await self.page.content())) - {self.mark}
            await asyncio.sleep(pause)


def state_of(server: psutil.Process, folder: Path) -> dict[str, int]:
    """What the server holds: memory in MB, threads, files, children, and files on disk."""
    return {
        "MB": server.memory_info().rss // 10**6,
        "threads": server.num_threads(),
        "open files": server.num_fds(),
        "children": len(server.children(recursive=True)),
        "files on disk": sum(1 for path in folder.rglob("*") if path.is_file()),
    }


def state_of_idle(address: str, server: psutil.Process, folder: Path) -> dict[str, int]:
    """The same, once a request has let the web server's pool shrink."""
    urllib.request.urlopen(address, timeout=60).close()
    time.sleep(1)
    return state_of(server, folder)


async def visit(address: str, readers: int, minutes: float, server: psutil.Process, folder: Path) -> int:
    """Bring the readers in, let them stay, send them away; print, and give the number of findings."""
    findings = []
    async with async_playwright() as driver:
        browser = await driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        first = Reader(99)
        await first.come(browser, address)
        await first.page.context.close()
        await asyncio.sleep(GONE)
        before = state_of_idle(address, server, folder)
        print("one reader has been:", before, flush=True)
        all_of_them = [Reader(number) for number in range(readers)]
        for start in range(0, readers, 5):
            await asyncio.gather(*(one.come(browser, address) for one in all_of_them[start : start + 5]))
            print(f"\r{start + 5} readers", end="", file=sys.stderr, flush=True)
        begun = time.monotonic()
        until = begun + 60 * minutes
        memory: list[tuple[float, int]] = []
        threads: list[int] = []

        async def watch() -> None:
            while time.monotonic() < until:
                now = state_of(server, folder)
                memory.append((time.monotonic() - begun, now["MB"]))
                threads.append(now["threads"])
                await asyncio.sleep(5)

        pause = max(readers / 2, 5)
        await asyncio.gather(watch(), *(one.stay(until, pause, i) for i, one in enumerate(all_of_them)))
        print("\nwith all of them:", state_of(server, folder), flush=True)
        for one in all_of_them:
            await one.page.context.close()
        await browser.close()
    await asyncio.sleep(GONE)
    gc.collect()
    after = state_of_idle(address, server, folder)
    print("all have gone:", after)
    half = 30 * minutes
    parts = [[mb for at, mb in memory if low <= at < low + half / 2] for low in (half, 1.5 * half)]
    third, fourth = (statistics.median(part) for part in parts)
    print(
        f"presses {sum(one.presses for one in all_of_them)}, answered later than a minute {sum(one.late for one in all_of_them)}"
    )
    print(
        f"threads: {before['threads']} after one reader, at most {max(threads)}, {after['threads']} after all"
    )
    print(
        f"memory in the third quarter {third:.0f} MB, in the fourth {fourth:.0f} MB, highest {max(mb for _, mb in memory)} MB"
    )
    findings += [f"{one.mark} saw {one.others}" for one in all_of_them if one.others]
    findings += [f"{one.mark}: {error}" for one in all_of_them for error in one.errors]
    for name, more in (("open files", 0), ("children", 0), ("files on disk", 0), ("threads", THREADS)):
        if after[name] > before[name] + more:
            findings.append(f"{name}: {before[name]} before, {after[name]} after")
    if fourth > 1.02 * third + 5:
        findings.append(f"memory grows: {third:.0f} to {fourth:.0f} MB")
    print("\n".join([f"{len(findings)} findings", *findings]))
    return len(findings)


def main(readers: int, minutes: float) -> int:
    """Serve the page from a folder of its own and let the readers come."""
    with tempfile.TemporaryDirectory(prefix="attack-") as name:
        os.environ["TMPDIR"] = name
        with serve() as (address, _):
            del os.environ["TMPDIR"]  # the browser keeps its own files elsewhere
            here = psutil.Process()
            port = int(address.rpartition(":")[2])
            server = next(
                one for one in here.children(recursive=True)
                if any(link.laddr.port == port and link.status == "LISTEN" for link in one.net_connections("tcp"))
            )  # fmt: skip
            return asyncio.run(visit(address, readers, minutes, server, Path(name)))


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--readers", type=int, default=50)
    asked.add_argument("--minutes", type=float, default=10)
    wanted = asked.parse_args()
    sys.exit(1 if main(wanted.readers, wanted.minutes) else 0)
