"""What readers who have left held is given back: their uploads and records go some minutes after their page was closed.

Derived from the planner's list of many sites: a server that keeps every upload of the day runs out of memory.
"""

import gc
import threading
import time
from typing import Any

import streamlit as st
from streamlit import runtime

EVERY = 30.0  # seconds


def let_go_of_the_gone() -> int:
    """Forget the sessions whose time to come back is over; gives how many were forgotten.

    Streamlit keeps a closed session two minutes for a reader who comes back, but looks at the clock only when
    another session is closed.
    """
    kept: Any = None
    if runtime.exists():
        manager = getattr(runtime.get_instance(), "_session_mgr", None)
        kept = getattr(getattr(manager, "_session_storage", None), "_cache", None)
    if not hasattr(kept, "expire"):  # another version keeps them otherwise
        return 0
    gone = kept.expire()
    if gone:
        gc.collect()
    return len(gone or ())


@st.cache_resource
def watch_closed_tabs() -> threading.Thread:
    """The one thread of this server that does so from time to time."""

    def watch() -> None:
        while True:
            time.sleep(EVERY)
            let_go_of_the_gone()

    thread = threading.Thread(target=watch, name="closed-tabs", daemon=True)
    thread.start()
    return thread
