"""What a user reads in the terminal when the page is started: three lines, and nothing of the libraries below."""

import re
import socket
import subprocess
import sys
import time

from tests.browser.conftest import ROOT, Screen, _is_up


def test_the_terminal_says_where_the_page_is_and_nothing_else(browser):
    with socket.socket() as free:
        free.bind(("localhost", 0))
        address = f"http://localhost:{free.getsockname()[1]}"
    call = [sys.executable, "-m", "exposure.cli", "page", "--port", address.rpartition(":")[2]]
    process = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=ROOT)
    try:
        until = time.monotonic() + 120
        while not _is_up(address) and process.poll() is None and time.monotonic() < until:
            time.sleep(0.1)
        one = Screen(browser, address).open("?view=desk", wait=".figures").settled()
        one.close()
    finally:
        process.terminate()
        told = process.communicate(timeout=20)[0].splitlines()
    assert len(told) == 3, told
    assert told[0].startswith("Reading what the page needs")
    assert told[1] == f"The page is at {address} (Ctrl-C ends it)."
    assert "phone" in told[2]
    assert re.search(r"--address \d|Take to site", told[2])
