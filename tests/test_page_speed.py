"""A click on an elevation: what was put together for it once is not put together again.

Counted in Python calls inside the part that is redrawn, which no other load of the machine moves. The limits are our
own: a click took 3,400 calls when they were set, some 550 of them ours.
"""

import threading

from exposure.invented import invented_place
from exposure.page.parts.folding import words_of
from tests.test_page import page, seen

OURS, ALL = 800, 4_000


def calls_of_a_click(app, name: str) -> tuple[int, int]:
    """Calls of ours and of all code while the answer about an elevation is redrawn."""
    counted = {"ours": 0, "all": 0}
    inside = False

    def watch(frame, event, _arg):
        nonlocal inside
        code = frame.f_code
        if code.co_name == "_answered" and code.co_filename.endswith("desk.py"):
            inside = event == "call"
        if event == "call" and inside:
            counted["all"] += 1
            counted["ours"] += "/exposure/" in code.co_filename

    next(one for one in app.get("button_group") if one.key.startswith("elevation")).set_value(name)
    threading.setprofile(watch)
    try:
        app.run()
    finally:
        threading.setprofile(None)
    return counted["ours"], counted["all"]


def test_a_click_on_an_elevation_seen_before_puts_nothing_together_again():
    invented_place(progress=False)
    words_of.clear()  # of tests before
    app = page()
    first = calls_of_a_click(app, "north-west")
    calls_of_a_click(app, "south-west")
    ours, whole = calls_of_a_click(app, "north-west")
    assert seen(app, "north-west")
    assert first[0] > ours > 100  # the count counts
    assert ours < OURS
    assert whole < ALL
