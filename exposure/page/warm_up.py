"""What is read and worked out before the page is served, so that the first reader does not wait for it.

Derived from the builder's minute on a phone: the server says it is up only when its first answer is ready.
"""

import gc
import threading

from exposure.invented.place import invented_place
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.inputs import region_is_made, spot_in_use
from exposure.page.choices.places_asked import COMPARISONS, asked_places
from exposure.page.choices.state import PageState
from exposure.page.work.beside import SPARE
from exposure.page.work.first_time import make_region

LATER = 5.0  # seconds after the start, when the first reader has an answer; our choice


def warm_up() -> None:
    """Make the invented place if need be (with its bar), read the libraries, answer for the usual choices.

    What the first view does without, the index of the whole region, is made beside the page at the first start.
    """
    invented_place()
    answer_usual()
    if region_is_made():
        compare_usual()
    else:
        threading.Thread(target=make_region, name="region", daemon=True).start()
    leave_out_of_collection()
    later = threading.Timer(LATER, SPARE.make)  # a reader's first file does not wait for libraries
    later.daemon = True
    later.start()


def leave_out_of_collection() -> None:
    """Keep what was read so far out of every later garbage collection.

    Streamlit collects after each answer, a tenth of a second in which no word leaves for the browser as long as
    every object of every library is looked at again.
    """
    gc.collect()
    gc.freeze()


def answer_usual() -> None:
    """Answer the first two questions for the usual choices, and keep the answers."""
    import exposure.page.views  # noqa: F401 - read for its own sake

    find_details(find_answer(PageState()))


def compare_usual() -> None:
    """Answer the third question for the usual choices, and keep the answer."""
    state = PageState()
    COMPARISONS.make(asked_places(state, spot_in_use(state)), lambda _share, _words: None)
