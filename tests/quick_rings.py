"""Drawings whose rings stand on their parts at once: for tests of what files and sheets say, not of where a ring stands.

To find each ring its room is nearly all the work of a house's sheets; its number, the sizes and every word are there without it.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache

import pytest

from exposure.draw import junction_svg
from exposure.draw.junction_canvas import Canvas, tag_words
from exposure.draw.junction_labels import Tag
from exposure.draw.junction_lanes import Ruled
from exposure.junction.scene import Layer, Point


def tags_at_once(canvas: Canvas, numbered: Sequence[tuple[int, Layer]], ruled: Sequence[Ruled]) -> list[Tag]:
    """A tag for each that is asked, in the picture, where its part begins."""
    asked = [(tag_words(one), False, one.start) for one in canvas.section.dimensions if not one.is_straight]
    asked += [(str(number), True, layer.outline[0]) for number, layer in numbered]
    return [_tag(canvas, *one) for one in asked]


def _tag(canvas: Canvas, words: str, ring: bool, spot: Point) -> Tag:
    _, top, _, foot = canvas.view
    x, y = canvas.at(spot)
    x, y = min(max(x, 20), canvas.width - 20), min(max(y, top + 12), foot - 12)
    return Tag(words, (x - 12, y - 12, x + 12, y + 12), ((x, y), (x, y)), ring)


_remembered = lru_cache(maxsize=512)(
    junction_svg._tall_enough.__wrapped__
)  # apart from the drawings of all other tests


@contextmanager
def rings_at_once() -> Iterator[None]:
    """Draw so in here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Canvas, "tags", tags_at_once)
        patch.setattr(junction_svg, "_tall_enough", _remembered)
        yield
