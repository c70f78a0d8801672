"""Many readers at once: a few heavy answers at a time, the others wait in order and are told; who is gone is not served."""

import threading
import time

import pytest
from streamlit.runtime.memory_session_storage import MemorySessionStorage

from exposure.page.choices.answer import find_answer
from exposure.page.choices.state import PageState
from exposure.page.work import closed_tabs, long_work
from exposure.page.work.long_work import GRACE, Progress, Stopped
from exposure.page.work.turns import Turns


def test_no_more_than_allowed_work_at_once_and_the_others_hear_how_many_come_before():
    turns, most, heard, done = Turns(2), [0], [], []
    lock = threading.Lock()

    def work(number: int) -> None:
        with turns.taken(heard.append):
            with lock:
                most[0] = max(most[0], turns.working)
            time.sleep(0.6)
            done.append(number)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(5)]
    for one in threads:
        one.start()
        time.sleep(0.02)  # they come one after another
    for one in threads:
        one.join(10)
    assert sorted(done) == list(range(5))
    assert set(done[:2]) == {0, 1}
    assert set(done[2:4]) == {2, 3}  # in the order they came
    assert most[0] == 2
    assert heard
    assert max(heard) == 4  # by hand: the fifth has two at work and two waiting before it
    assert turns.working == 0


def test_whoever_leaves_the_queue_holds_nobody_up():
    turns = Turns(1)
    inside, go_on = threading.Event(), threading.Event()

    def hold() -> None:
        with turns.taken():
            inside.set()
            go_on.wait(10)

    holder = threading.Thread(target=hold)
    holder.start()
    inside.wait(5)

    def gone(_before: int) -> None:
        raise Stopped

    with pytest.raises(Stopped), turns.taken(gone):
        pass
    go_on.set()
    holder.join(5)
    with turns.taken():
        assert turns.working == 1


def test_a_heavy_answer_holds_a_turn_and_a_kept_one_needs_none(monkeypatch):
    from exposure.page.choices import answer

    class Counted(Turns):
        taken_times = 0

        def taken(self, *given):
            type(self).taken_times += 1
            return super().taken(*given)

    counted = Counted(1)
    monkeypatch.setattr(answer, "heavy_turns", lambda: counted)
    state = PageState(at=(48.611, -29.411))
    find_answer(state)
    assert Counted.taken_times == 1
    find_answer(state.with_(elevation="north"))
    assert Counted.taken_times == 1


def test_work_for_a_reader_whose_page_is_closed_stops_after_a_while(monkeypatch):
    clock = [1000.0]
    monkeypatch.setattr(long_work.time, "monotonic", lambda: clock[0])
    open_page = [True]
    progress = Progress(here=lambda: open_page[0])
    for _ in range(3):
        clock[0] += 60
        progress.tell(0.1)
    open_page[0] = False
    clock[0] += GRACE / 2
    progress.tell(0.2)  # a reload takes a moment
    clock[0] += GRACE
    with pytest.raises(Stopped):
        progress.tell(0.3)


def test_sessions_of_closed_pages_are_let_go_without_another_reader(monkeypatch):
    class Session:
        id = "one"

    class Info:
        session = Session()

    storage = MemorySessionStorage(ttl_seconds=0.05)
    storage.save(Info())
    manager = type("Manager", (), {"_session_storage": storage})()
    server = type("Server", (), {"_session_mgr": manager})()
    monkeypatch.setattr(closed_tabs.runtime, "exists", lambda: True)
    monkeypatch.setattr(closed_tabs.runtime, "get_instance", lambda: server)
    time.sleep(0.1)
    assert closed_tabs.let_go_of_the_gone() == 1
    assert closed_tabs.let_go_of_the_gone() == 0
