"""One answer from a web service: retried with longer and longer waits, bounded in size and time."""

import http.client
import logging
import time
import urllib.error
import urllib.request
from collections.abc import Callable

from exposure import __version__
from exposure.checks import RefusalError

TRIES = 6
FIRST_WAIT = 1.0  # s, doubled after every failure
LONGEST_WAIT = 60.0  # s
TIMEOUT = 90.0  # s without a byte
MOST_BYTES = 64_000_000
AGAIN = (408, 425, 429, 500, 502, 503, 504)
MISSING = (404, 422)

_log = logging.getLogger(__name__)


class PieceMissingError(Exception):
    """The service has no data for the piece asked for."""


def download(
    address: str,
    *,
    check: Callable[[bytes], str | None] | None = None,
    pause: Callable[[float], None] | None = None,
    tries: int = TRIES,
    timeout: float = TIMEOUT,
) -> bytes:
    """The body of the answer to ``address``.

    Busy or failing answers (429, 5xx), cut connections, time-outs and bodies that ``check`` objects to are asked
    for again, waiting 1, 2, 4 ... s or as long as the service says.

    Parameters
    ----------
    check
        Gives the reason why a body is no answer, or None.
    pause
        Waits the seconds given to it; :func:`time.sleep` unless a test says otherwise.

    Raises
    ------
    PieceMissingError
        When the service says that it has no such data (404, 422).
    RefusalError
        When it refuses, or after the last try.
    """
    if not address.startswith(("https://", "http://")):
        raise RefusalError(f"the address is {address[:60]!r}", "http:// or https://", "Correct it.")
    wait = FIRST_WAIT
    reason: str | None = ""
    for attempt in range(1, tries + 1):
        told = None
        try:
            body = _ask(address, timeout)
            reason = check(body) if check else None
            if not reason:
                return body
        except urllib.error.HTTPError as error:
            reason = f"it answered {error.code} {error.reason}"
            if error.code in MISSING:
                raise PieceMissingError(reason) from error
            if error.code not in AGAIN:
                raise RefusalError(
                    f"the service refused ({reason})",
                    "an answer with data",
                    "Check the point and years, or its terms.",
                ) from error
            told = _told_wait(error)
        except (urllib.error.URLError, http.client.HTTPException, ConnectionError, TimeoutError) as error:
            reason = (
                f"the connection failed ({getattr(error, 'reason', None) or error or type(error).__name__})"
            )
        if attempt < tries:
            seconds = min(told if told is not None else wait, LONGEST_WAIT)
            _log.info("try %d failed: %s; again in %g s", attempt, reason, seconds)
            (pause or time.sleep)(seconds)
            wait *= 2
    raise RefusalError(
        f"the service gave no data in {tries} tries: {reason}",
        "an answer with data",
        "Check the connection and try later: years already here are kept.",
    )


def _ask(address: str, timeout: float) -> bytes:
    agent = {"User-Agent": f"driving-rain-exposure/{__version__}", "Accept-Encoding": "identity"}
    request = urllib.request.Request(address, headers=agent)
    with urllib.request.urlopen(request, timeout=timeout) as answer:
        body = answer.read(MOST_BYTES + 1)
        promised = answer.headers.get("Content-Length")
    if len(body) > MOST_BYTES:
        raise RefusalError(
            f"the answer is larger than {MOST_BYTES // 10**6} MB",
            "one year of one point",
            "Check the address.",
        )
    if promised is not None and promised.isdigit() and len(body) < int(promised):
        raise http.client.IncompleteRead(body, int(promised) - len(body))
    return body


def _told_wait(error: urllib.error.HTTPError) -> float | None:
    """Seconds the service asks to wait, when it says so in a number."""
    told = (error.headers.get("Retry-After") or "") if error.headers else ""
    return float(told) if told.isdigit() else None
