"""A browser, the page served by its own command, and a network that is shut but for this machine."""

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import IO

import pytest

PHONE = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
    "user_agent": "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 Chrome/130 Mobile Safari/537.36",
}
DESK = {"viewport": {"width": 1440, "height": 1000}}
FORMS = {  # widths, zoom and colours that each job is driven in
    "1440": DESK,
    "1024 dark": {"viewport": {"width": 1024, "height": 768}, "color_scheme": "dark"},
    "200 % forced colours": {
        "viewport": {"width": 720, "height": 450},
        "device_scale_factor": 2,
        "forced_colors": "active",
    },
    "390": PHONE,
    "320 dark": {**PHONE, "viewport": {"width": 320, "height": 640}, "color_scheme": "dark"},
}
ROOT = Path(__file__).parents[2]


def pytest_collection_modifyitems(items):
    here = f"{Path(__file__).parent}{os.sep}"
    for item in items:
        if str(item.path).startswith(here):  # of every test, so no folders are compared one by one
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.slow)


@contextmanager
def serve(told: IO[bytes] | None = None) -> Iterator[tuple[str, float]]:
    """The page as ``exposure page`` serves it: its address, and when it was found up; what it says goes to ``told``."""
    with socket.socket() as free:
        free.bind(("localhost", 0))
        port = free.getsockname()[1]
    call = [sys.executable, "-m", "exposure.cli", "page", "--port", str(port)]
    with nullcontext(told) if told else tempfile.TemporaryFile() as log:
        process = subprocess.Popen(call, stdout=log, stderr=subprocess.STDOUT, cwd=ROOT)
        address = f"http://localhost:{port}"
        until = time.monotonic() + 180
        try:
            while not _is_up(address):
                if process.poll() is not None or time.monotonic() > until:
                    log.seek(0)
                    message = f"the page did not start: {log.read().decode()[-2000:]}"
                    raise RuntimeError(message)
                time.sleep(0.1)
            yield address, time.monotonic()
        finally:
            process.terminate()
            process.wait(20)


def _is_up(address: str) -> bool:
    try:
        with urllib.request.urlopen(f"{address}/_stcore/health", timeout=2) as answer:
            return answer.status == 200
    except OSError:
        return False


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Address of the page."""
    with serve() as (address, _):
        yield address


class Screen:
    """A page in the browser, with what it asked for and what went wrong kept; without ``motion`` nothing fades or turns."""

    def __init__(
        self,
        browser,
        address: str,
        *,
        phone: bool = False,
        dark: bool = False,
        form: str = "",
        motion: bool = True,
    ) -> None:
        self.address = address
        kind = {"color_scheme": "dark" if dark else "light"} | (
            FORMS[form] if form else PHONE if phone else DESK
        )
        self.width = kind["viewport"]["width"]
        kind["reduced_motion"] = "no-preference" if motion else "reduce"
        self.context = browser.new_context(**kind, accept_downloads=True)
        self.outside: list[str] = []
        self.errors: list[str] = []
        self.frames: list[int] = []
        # told of each request, not asked for leave: who asks for leave has the browser keep nothing of what it loaded
        self.context.on("request", self._only_here)
        self.page = self.context.new_page()
        self.page.set_default_timeout(30_000)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on(
            "dialog", lambda dialog: (self.errors.append(f"dialog {dialog.message}"), dialog.dismiss())
        )
        self.page.on("websocket", self._watch)

    def _only_here(self, asked) -> None:
        if not asked.url.startswith(("http://localhost:", "ws://localhost:", "data:", "blob:", "file:")):
            self.outside.append(asked.url)

    def _watch(self, socket_) -> None:
        self._only_here(socket_)
        socket_.on("framereceived", lambda frame: self.frames.append(len(frame)))

    def open(self, query: str = "", *, wait: str = "h1") -> "Screen":
        self.page.goto(f"{self.address}/{query}")
        self.page.wait_for_selector(wait)
        return self

    def settled(self) -> "Screen":
        """Wait until the server has nothing more to say."""
        self.page.wait_for_timeout(100)
        self.page.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
        self.page.wait_for_function(
            "!document.querySelector('[data-testid=stSkeleton]')"
        )  # drawn, not only sent
        self.page.wait_for_timeout(100)
        return self

    def change(self, what: str):
        """Open the form of the inputs, where it is not open; gives its part on ``what``."""
        form = self.page.locator(".st-key-change details").first
        if form.get_attribute("open") is None:
            form.locator("summary").first.click()
        return self.page.locator(f".st-key-form-{what.replace(' ', '-')}")

    def part(self, name: str) -> None:
        """Open a part under the answer."""
        self.page.get_by_role("radio", name=name, exact=True).click()
        self.settled()

    def tab_to(self, script: str, most: int = 60) -> None:
        """Press Tab until the element ``e`` that has the focus is the one; it must show that it has it."""
        for _ in range(most):
            self.page.keyboard.press("Tab")
            if self.page.evaluate(f"() => {{ const e = document.activeElement; return {script}; }}"):
                shown = self.page.evaluate(
                    "() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle + s.boxShadow; }"
                )
                assert shown != "nonenone", script
                return
        raise AssertionError(script)

    def choose_by_keys(self, name: str, most: int = 8) -> None:
        """Tab to the row of choices that holds ``name``, then arrows to it and Space."""
        self.tab_to(
            "e.getAttribute('role') === 'radio' && [...e.closest('[role=radiogroup]').querySelectorAll('[role=radio]')]"
            f".some(one => one.innerText.trim() === {name!r})"
        )
        for _ in range(most):
            if self.page.evaluate("document.activeElement.innerText.trim()") == name:
                self.page.keyboard.press("Space")
                return
            self.page.keyboard.press("ArrowRight")
        raise AssertionError(name)

    def words(self) -> str:
        return self.page.inner_text("body")

    def check(self) -> None:
        """Nothing left this machine, nothing failed, no message was too large."""
        assert self.outside == []
        assert self.errors == []
        # the file for the site goes in one piece
        assert max(self.frames, default=0) < 900_000, f"largest message {max(self.frames):,} bytes"

    def close(self) -> None:
        self.context.close()


@pytest.fixture
def screen(browser, server):
    """Opens screens; each is checked and closed at the end of its test.

    Motion costs a quarter of each page's time: each job is done with it in one form, and where every frame is looked at.
    """
    opened: list[Screen] = []

    def new(**kind) -> Screen:
        opened.append(Screen(browser, server, **{"motion": kind.get("form") == "1440", **kind}))
        return opened[-1]

    yield new
    for one in opened:
        one.check()
        one.close()
