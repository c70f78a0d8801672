"""Work that takes longer than a blink: done beside the page, shown with its progress, stopped on request.

Derived from the builder's minute on a phone: a screen that hangs is taken for broken. The former answer stays
while the work runs, and says that it is the former.
"""

import threading
import time
import weakref
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

import streamlit as st
from streamlit import runtime
from streamlit.runtime.scriptrunner import get_script_run_ctx

from exposure.checks import RefusalError
from exposure.page.held import HeldEach
from exposure.page.markup import plain_label, refusal, say
from exposure.page.refuse import fault

AT_ONCE = 2  # pieces of long work for all readers together
LOOK_EVERY = 0.4  # seconds between looks at the progress
QUIET = 0.3  # seconds in which nothing is shown
GRACE = 10.0  # seconds a reader may be away (a reload of the network) before work for them stops; our choice
LOOK_FOR_READER = 1.0  # seconds between looks whether the reader is still there

Tell = Callable[[float, str], None]  # share done (0 to 1) and a few words; raises Stopped when asked to stop


class Stopped(Exception):
    """The reader asked to stop."""


@dataclass
class Progress:
    """How far a piece of work is, as the thread that does it tells and the page that watches it reads."""

    share: float = 0.0
    words: str = ""
    stop: threading.Event = field(default_factory=threading.Event)
    here: Callable[[], bool] = lambda: True  # whether the page of the reader is open
    _seen: float = field(default_factory=time.monotonic)
    _looked: float = 0.0

    def tell(self, share: float, words: str = "") -> None:
        """Called by the work: how far it is. Raises :class:`Stopped` when the reader has asked to stop, or is gone."""
        self.look_for_reader()
        if self.stop.is_set():
            raise Stopped
        self.share, self.words = min(max(share, 0.0), 1.0), words

    def look_for_reader(self) -> None:
        """Ask the work to stop when the reader's page has been closed for a while."""
        now = time.monotonic()
        if now - self._looked < LOOK_FOR_READER:
            return
        self._looked = now
        if self.here():
            self._seen = now
        elif now - self._seen > GRACE:
            self.stop.set()


def reader_here() -> Callable[[], bool]:
    """Whether the page of the reader who asks now is open, to be asked again later from anywhere."""
    context = get_script_run_ctx()
    session = None if context is None else context.session_id

    def here() -> bool:
        return session is None or not runtime.exists() or runtime.get_instance().is_active_session(session)

    return here


class Work:
    """One piece of work, as the page knows it; it stops when its reader's session is gone."""

    def __init__(self, label: str) -> None:
        self.label = label
        self.future: Future = Future()
        self.started = time.monotonic()
        self.progress = Progress()
        weakref.finalize(self, self.progress.stop.set)

    def time_left(self) -> str:
        """About how long it will take, in words, once that can be told."""
        gone, share = time.monotonic() - self.started, self.progress.share
        if share < 0.05 or gone < 1:
            return ""
        left = gone * (1 - share) / share
        return f"About {max(round(left), 1)} s left." if left < 90 else f"About {round(left / 60)} min left."


_WORK: HeldEach[Work | None] = HeldEach("work-", None)  # by key
_STOPPED: HeldEach[str | None] = HeldEach("stopped-", None)  # by key: what the work was called
REFUSED_WORK: HeldEach[RefusalError | None] = HeldEach("refused-", None)  # by key


@st.cache_resource
def _turns() -> threading.Semaphore:
    return threading.Semaphore(AT_ONCE)


def begin(key: str, label: str, call: Callable[[Tell], Any]) -> None:
    """Start ``call`` beside the page under ``key``, in place of what was running there."""
    end(key)
    work = Work(label)
    work.progress.here = reader_here()
    _STOPPED[key].take()
    threading.Thread(
        target=_do, args=(call, work.progress, work.future, _turns()), name=f"long-work-{key}", daemon=True
    ).start()
    _WORK[key].put(work)


def _do(call: Callable[[Tell], Any], progress: Progress, future: Future, turns: threading.Semaphore) -> None:
    """Wait for a turn, do the work, and lay its result or its fault into ``future``."""
    while not turns.acquire(timeout=LOOK_EVERY):
        progress.words = "Waiting until other work is done."
        progress.look_for_reader()
        if progress.stop.is_set():
            future.set_exception(Stopped())
            return
    try:
        future.set_result(call(progress.tell))
    except BaseException as error:  # told where the work is watched
        future.set_exception(error)
    finally:
        turns.release()


def end(key: str) -> None:
    """Stop what runs under ``key`` and forget it; the work ends where it next tells how far it is."""
    work = _WORK[key].take()
    if work is not None:
        work.progress.stop.set()


def _stop(key: str) -> None:
    """What the reader's Stop does: the work ends, and the page says so."""
    work = running(key)
    end(key)
    if work is not None:
        _STOPPED[key].put(work.label)


def running(key: str) -> Work | None:
    """What runs, or has just ended, under ``key``."""
    return _WORK[key].value


def show_work(
    key: str,
    done: Callable[[Any], None],
    *,
    what: str = "",
    meanwhile: str = "",
    again: Callable[[], None] | None = None,
) -> None:
    """Progress of the work under ``key`` with a way to stop it; ``done`` is called with its result.

    A refusal is shown in its place, and what stood before stays; ``meanwhile`` says so. ``again`` starts stopped
    work anew.
    """
    stopped = _STOPPED[key].value
    if stopped is not None and running(key) is None:
        st.html(f'<p role="status"><b>Stopped</b>: {say(stopped.rstrip(":."))}. Nothing of it is used.</p>')
        if again is not None:
            st.button("Do it again", on_click=again, key=f"again-{key}")
    refused = REFUSED_WORK[key].value
    if refused is not None:
        st.html(refusal(refused, what=what))
    if running(key) is not None:
        st.fragment(_watch, run_every=LOOK_EVERY)(key, done, meanwhile)


def _watch(key: str, done: Callable[[Any], None], meanwhile: str) -> None:
    work = running(key)
    if work is None:
        return
    if not work.future.done():
        if time.monotonic() - work.started < QUIET:
            return
        words = f"{work.label} {work.progress.words} {work.time_left()}".strip()
        st.progress(work.progress.share, text=plain_label(words))
        if meanwhile:
            st.html(f'<p class="note">{say(meanwhile)}</p>')
        st.button("Stop", key=f"stop-{key}", on_click=_stop, args=(key,))
        return
    _WORK[key].take()
    REFUSED_WORK[key].take()
    try:
        done(work.future.result())
    except Stopped:
        return
    except RefusalError as refused:
        REFUSED_WORK[key].put(refused)
    except Exception as error:  # a fault of ours, told as such
        REFUSED_WORK[key].put(fault(work.label))
        _log(error)
    st.rerun(scope="app")


def _log(error: Exception) -> None:
    import sys
    import traceback

    traceback.print_exception(error, file=sys.stderr)


def forget_refusal(key: str) -> None:
    """Take a refusal, or the word of a stop, off the screen; the record before is kept."""
    REFUSED_WORK[key].take()
    _STOPPED[key].take()
