"""The first start on a machine: the invented place is made once, and the page says so while it waits.

Derived from all three questions: without a place nothing can be answered, and an empty page is taken for a broken
one. A reader with a record of their own waits no longer than the others: the map and houses are needed too.
"""

import subprocess
import sys
import threading
import time

import streamlit as st

from exposure.checks import RefusalError
from exposure.figures import percent
from exposure.invented.place import cache_folder, invented_place
from exposure.invented.place_files import RECIPE
from exposure.page.markup import refusal
from exposure.page.refuse import fault
from exposure.page.work.long_work import LOOK_EVERY
from exposure.region.invented_index import index_folder


class _Making:
    """The one making for all readers of this server."""

    def __init__(self) -> None:
        self.started = time.monotonic()
        self.refused: RefusalError | None = None
        self.share = 0.0
        self.thread = threading.Thread(target=self._make, name="invented-place", daemon=True)
        self.thread.start()

    def _make(self) -> None:
        try:
            invented_place(progress=self._tell)
            make_region()
        except RefusalError as refused:
            self.refused = refused
        except Exception as error:
            import traceback

            traceback.print_exception(error)
            self.refused = fault("Making the invented place")

    def _tell(self, share: float) -> None:
        self.share = share

    @property
    def time_left(self) -> str:
        """About how long it will take, once that can be told."""
        gone = time.monotonic() - self.started
        if self.share < 0.2 or gone < 2:
            return "It takes some twenty seconds."
        return f"About {max(round(gone * (1 - self.share) / self.share), 1)} s left."


def make_region() -> None:
    """Work out the region's index in a process of its own, unless it is there: it needs a compiler, the page none."""
    if index_folder(invented_place(progress=False)).is_dir():
        return
    code = (
        "import os; getattr(os, 'nice', int)(10); from exposure.invented import invented_place; from exposure.region.invented_index import index_invented_place; "
        "index_invented_place(invented_place(progress=False))"
    )
    subprocess.run([sys.executable, "-c", code], check=False, timeout=600, stderr=subprocess.DEVNULL)


@st.cache_resource
def _making() -> _Making:
    return _Making()


def is_made() -> bool:
    """Whether the invented place lies in the cache."""
    return (cache_folder() / f"invented-{RECIPE}" / "made.json").is_file()


@st.fragment(run_every=LOOK_EVERY)
def show_making() -> None:
    """Say what is being made and how long it has taken; the page comes when it is done."""
    making = _making()
    if is_made():
        st.rerun(scope="app")
    if making.refused is not None:
        st.html(refusal(making.refused, what="the invented place"))
        if st.button("Try again"):
            _making.clear()
        return
    st.html(
        '<div role="status"><h3>Making the invented place</h3><p>Twelve years of hourly weather, hills, ground and '
        "houses are worked out once and kept on this machine.</p></div>"
    )
    st.progress(making.share, text=f"{percent(making.share)} made. {making.time_left}")
