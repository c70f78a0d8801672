"""The sheets as PDF, where the optional writer is installed."""

import logging
import re
from pathlib import Path
from typing import Any

from exposure.checks import RefusalError
from exposure.in_place import filled_in_place

BEFORE_MARK = re.compile(r"(?<=[^\s>]) (?=<(?:b|span)\b)")  # a space between words and what is set apart


def pdf_at_hand() -> bool:
    """Whether the PDF writer is installed, with the library of the system that it draws letters with."""
    try:
        import weasyprint  # noqa: F401  # asked whether it loads, not used here
    except (ImportError, OSError):
        return False
    return True


def sheet_pdf(html: str) -> bytes:
    """Turn the HTML of :func:`exposure.paper.sheet.sheet_html` into a PDF.

    Where a line ends at the space before something set apart the writer breaks it at the first space of those words instead; a place
    to break after that space helps it. Nothing is fetched: a link in the document to any file or address is refused; pictures stand in the document.

    Raises
    ------
    RefusalError
        When the PDF writer is not installed; the HTML prints just as well from any browser.
    """
    try:
        import weasyprint  # large and optional
    except (ImportError, OSError) as error:
        raise RefusalError(
            "the PDF writer is not installed here",
            "the extra called pdf, with the system's Pango library",
            "Install it with: pip install 'driving-rain-exposure[pdf]', or print the HTML sheet from a browser.",
        ) from error
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    return weasyprint.HTML(
        string=BEFORE_MARK.sub(" \u200b", html), url_fetcher=_nothing_fetched()
    ).write_pdf()


def write_pdf(path: Path, html: str) -> Path:
    """Write :func:`sheet_pdf` of ``html`` to ``path``, moved into place when whole."""
    with filled_in_place(path) as part:
        part.write_bytes(sheet_pdf(html))
    return path


def _nothing_fetched() -> Any:
    """A fetcher that refuses every address, in the form the installed writer asks for."""
    try:
        from weasyprint.urls import URLFetcher
    except ImportError:  # an older writer takes a function
        return _refuse
    return URLFetcher(allowed_protocols=("data",))


def _refuse(url: str, *_: object, **__: object) -> dict:
    if url.startswith("data:"):
        import weasyprint

        return weasyprint.default_url_fetcher(url)
    message = f"a sheet may not fetch {url[:80]!r}"
    raise ValueError(message)
