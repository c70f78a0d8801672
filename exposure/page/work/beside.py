"""Work on a file from anywhere, done in a process of its own: watched from here, ended when the reader stops it.

Derived from the builder's minute on a phone: Stop must stop. A library in the middle of a file cannot be asked to
leave it, but its process can be ended; what it had written goes with its folder. Nothing comes back but plain
figures and text.
"""

import json
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import xarray as xr

from exposure.checks import RefusalError
from exposure.page.work.long_work import Tell
from exposure.page.work.own_process import PROGRESS, REFUSED, REQUEST
from exposure.page.work.reading import CONTENT, RECORD, read_written

LOOK_EVERY = 0.1  # seconds
LEAVE_IN = 0.4  # seconds a process has to leave by itself
FOLDER = "exposure-record-"


def record_beside(request: Mapping[str, Any], content: bytes, tell: Tell) -> tuple[xr.Dataset, str]:
    """The record and its line, as :func:`exposure.page.work.reading.main` finds them.

    Parameters
    ----------
    request
        ``do`` (``read`` or ``fetch``) and what it needs.
    content
        The bytes of an upload; empty for a fetch.
    tell
        Called often with how far it is; what it raises ends the process.

    Raises
    ------
    RefusalError
        When the record cannot be used.
    """
    with tempfile.TemporaryDirectory(prefix=FOLDER) as name:
        folder = Path(name)
        (folder / CONTENT).write_bytes(content)
        do_beside("exposure.page.work.reading", folder, request, tell, result=RECORD)
        tell(0.95, "")
        return read_written(folder / RECORD)


def do_beside(module: str, folder: Path, request: Mapping[str, Any], tell: Tell, *, result: str) -> None:
    """Run ``module`` on ``folder`` until the file ``result`` lies there; ``tell`` as for :func:`record_beside`.

    Raises
    ------
    RefusalError
        What the process refused, or that it ended without a result.
    """
    (folder / REQUEST).write_text(json.dumps(dict(request)), "utf-8")
    process = SPARE.take(module, folder)
    spared = process is not None
    if process is None:
        process = subprocess.Popen(
            [sys.executable, "-m", module, str(folder)], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL
        )
    try:
        while process.poll() is None:
            tell(*_progress(folder))
            time.sleep(LOOK_EVERY)
    finally:
        end_process(process)
        if spared:
            SPARE.make()
    if (folder / REFUSED).is_file():
        raise RefusalError(**json.loads((folder / REFUSED).read_text("utf-8")))
    if not (folder / result).is_file():
        raise RefusalError(
            f"the work ended without a result (code {process.returncode})",
            "a file this machine has the memory for",
            "Cut it smaller; the server's log holds the lines for whoever mends it.",
        )


class Spare:
    """One process that waits with its libraries read (:mod:`exposure.page.work.waiting`); who asks first has it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen | None = None

    def make(self) -> None:
        """Start one, unless one waits."""
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "exposure.page.work.waiting"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL,
                )

    def take(self, module: str, folder: Path) -> subprocess.Popen | None:
        """The one that waits, told to run ``module`` on ``folder``; None where none does."""
        with self._lock:
            process, self._process = self._process, None
        if process is None or process.poll() is not None or process.stdin is None:
            return None
        try:
            with process.stdin as line:
                line.write(f"{json.dumps([module, str(folder)])}\n".encode())
        except OSError:  # it ended meanwhile
            end_process(process)
            return None
        return process


SPARE = Spare()


def _progress(folder: Path) -> tuple[float, str]:
    try:
        share, _, words = (folder / PROGRESS).read_text("utf-8").partition(" ")
        return float(share), words
    except (OSError, ValueError):  # not told yet
        return 0.0, ""


def end_process(process: subprocess.Popen) -> None:
    """End a process of ours: asked first, so that it clears up, then ended."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(LEAVE_IN)
        except subprocess.TimeoutExpired:
            process.kill()
    process.wait()
