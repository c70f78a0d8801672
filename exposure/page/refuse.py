"""What the reader sees when something cannot be done: three parts for a refusal, one sentence for a fault of ours.

Derived from all three questions: whoever waits on site needs the next step, not a list of program lines.
"""

import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.held import Held
from exposure.page.markup import refusal

Refused = Held[RefusalError | None]  # why the last press was refused, until it is shown


@contextmanager
def plain_words(what: str) -> Iterator[None]:
    """Show a refusal in its three parts instead of the part of the page inside.

    A fault of the program is told as such; its lines go to the server's log, never to the screen.
    """
    try:
        yield
    except RefusalError as refused:
        st.html(refusal(refused, what=what))
    except Exception:
        traceback.print_exc(file=sys.stderr)
        st.html(refusal(fault(what)))


def show_refused(kept: Refused, what: str) -> None:
    """Say, once, why the last press was refused."""
    with plain_words(what):
        raise_refused(kept)


def raise_refused(kept: Refused) -> None:
    """Raise, once, what the last press was refused with, where it was.

    Raises
    ------
    RefusalError
        The one kept.
    """
    refused = kept.take()
    if refused is not None:
        raise refused


def fault(what: str) -> RefusalError:
    """A fault of the program, worded like a refusal."""
    return RefusalError(
        f"{what} stopped with a fault of this program",
        "an answer, or a refusal that says why not",
        "Change the last choice back, or reload the page; the server's log holds the lines for whoever mends it.",
    )
