"""What is read and worked out before the page is served, so that the first reader does not wait for it.

Derived from the builder's minute on a phone: the server says it is up only when its first answer is ready.
"""

from exposure.invented.place import invented_place
from exposure.page.answer import find_answer, find_details
from exposure.page.first_time import make_region
from exposure.page.places_compared import compare, comparison_key, places_to_compare
from exposure.page.state import PageState


def warm_up() -> None:
    """Make the invented place if need be (with its bar), read the libraries, answer for the usual choices."""
    invented_place()
    make_region()
    import exposure.page.views  # noqa: F401 - read for its own sake

    state = PageState()
    answer = find_answer(state)
    find_details(answer)
    pairs = places_to_compare(state, answer.spot)
    compare(comparison_key(state, pairs), state, pairs, lambda _share, _words: None)
