"""What is read and worked out before the page is served, so that the first reader does not wait for it.

Derived from the builder's minute on a phone: the server says it is up only when its first answer is ready.
"""

from exposure.invented.place import invented_place
from exposure.page.answer import find_answer
from exposure.page.state import PageState


def warm_up() -> None:
    """Make the invented place if need be (with its bar), read the libraries, answer for the usual choices."""
    invented_place()
    import exposure.page.views  # noqa: F401 - read for its own sake

    find_answer(PageState())
