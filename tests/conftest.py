"""Fixtures every test folder shares."""

import fcntl
import gc
import os
import shutil
import sys
from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import outside
import pytest

# where this is set, every process that tests start would compile the whole program anew, and both test processes every test
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",  # no other machine is found
]
ROOT = Path(__file__).parents[1]
SHARED_DATA = Path(__file__).parents[2] / "shared" / "data"


def pytest_addoption(parser: pytest.Parser) -> None:
    """One option: where to write what the tests held against numbers from outside."""
    parser.addoption("--evidence", metavar="FILE", help="write every comparison with an outside number there")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Two processes: who has nothing left takes over half of what the other still has, so that both end together."""
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """What is collected stays to the end: garbage is not looked for in it, neither while it is read nor later."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.enable()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What may take longer than the usual limit comes first: begun last, the other process would wait for it to end."""
    usual = float(config.getini("timeout") or 0)

    def is_long(item: pytest.Item) -> bool:
        told = item.get_closest_marker("timeout")
        return told is not None and told.args[0] > usual

    items.sort(key=is_long, reverse=True)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write the evidence, of a run in which nothing failed."""
    wanted = session.config.getoption("--evidence")
    if wanted and exitstatus == 0:
        outside.write_said(Path(wanted))


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real files too large or not free to keep here; tests that need it skip without it."""
    if not SHARED_DATA.is_dir():
        pytest.skip(f"extra data folder {SHARED_DATA.name} is not beside this checkout")
    return SHARED_DATA


@pytest.fixture(scope="session", autouse=True)
def told_whole() -> Iterator[None]:
    """Hold every refusal and doubt of every test to its promise: each part is a text, and none is left open."""
    from exposure.checks import RefusalError
    from exposure.doubts import Doubt

    plain, made = RefusalError.__init__, Doubt.__new__

    def refused(self, came, expected, cure, *, parameter=""):
        assert all(isinstance(part, str) and part for part in (came, expected, cure)), (came, expected, cure)
        assert isinstance(parameter, str), parameter
        plain(self, came, expected, cure, parameter=parameter)

    def doubted(cls, sentence, key="", subject="", numbers=None):
        assert isinstance(subject, str), (key, subject)
        assert "None" not in sentence, sentence
        return made(cls, sentence, key, subject, numbers)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(RefusalError, "__init__", refused)
        patch.setattr(Doubt, "__new__", doubted)
        yield


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, Callable[[], str]], str]:
    """What costs much and several tests read: made by the test process that asks first, read by the other, in this run alone."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent  # the one of all processes of this run
    folder /= "made-once"
    folder.mkdir(exist_ok=True)

    def find(name: str, make: Callable[[], str]) -> str:
        kept = folder / name
        with (folder / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not kept.exists():
                half = folder / f"{name}.half"
                half.write_text(make(), "utf-8", newline="")
                half.rename(kept)
        return kept.read_bytes().decode("utf-8")

    return find


@pytest.fixture
def quick_rings() -> Iterator[None]:
    """Rings on their parts at once, for a test that looks at words or at sheets alone."""
    from quick_rings import rings_at_once  # a process that runs no test has no need of it

    with rings_at_once():
        yield


def missing(what: str) -> None:
    """Skip on a reader's machine; fail where nothing may be left out."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is missing")
    pytest.skip(f"{what} is missing; install it to run the browser tests")


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """The one browser of a test process; a second driver beside it would not start."""
    if os.environ.get("CI") == "true":
        import playwright.sync_api as playwright
    else:
        playwright = pytest.importorskip("playwright.sync_api")
    if CHROMIUM is None:
        missing("chromium")
    with playwright.sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The text of axe-core, the accessibility rules."""
    places = [
        os.environ.get("AXE_CORE"),
        ROOT.parent / "node_modules/axe-core/axe.min.js",
        ROOT / "node_modules/axe-core/axe.min.js",
    ]
    for place in places:
        if place and Path(place).is_file():
            return Path(place).read_text("utf-8")
    if os.environ.get("CI") == "true":
        pytest.fail("axe-core is missing: set AXE_CORE to axe.min.js")
    pytest.skip("axe-core is missing: set AXE_CORE to axe.min.js")
