"""How an elevation builds a junction otherwise than it is drawn: parts, sizes and words of its own drawing."""

import re

from exposure.draw.junction_canvas import amount as drawn_amount
from exposure.draw.junction_canvas import numbered_parts, tag_words
from exposure.figures import listed
from exposure.junction.catalogue import Drawing
from exposure.junction.size_names import size_name
from exposure.paper.compared_drawings import kind_of, words_beside
from exposure.paper.sheet_columns import CORNERS
from exposure.paper.sheet_corners import AS_DRAWN

SHORT = re.compile("[:;,]")  # where the name of a part that is left out may end


def otherwise(drawn: Drawing, mine: Drawing, but: str = "") -> str:
    """How an elevation's own drawing differs from another, one size left out: parts, sizes, words beside it."""
    built = [*other_parts(drawn, mine), *other_sizes(drawn, mine, but)] or [AS_DRAWN]
    return ". ".join([", ".join(built), *other_words(drawn, mine)])


def other_words(drawn: Drawing, mine: Drawing) -> list[str]:
    """What an elevation's own drawing says and another does not."""
    return [one.removesuffix(".") for one in words_beside(mine) if one not in words_beside(drawn)]


def other_parts(drawn: Drawing, mine: Drawing) -> list[str]:
    """Parts of an elevation's own drawing that are not those of another: changed, left out by their numbers, or more."""
    there, own = (
        [(number, layer.name) for number, layer in numbered_parts(one.section)] for one in (drawn, mine)
    )
    more = [name for _, name in own if name not in dict(there).values()]
    gone, changed = [], []
    for number, name in there:
        if name in dict(own).values():
            continue
        instead = next((one for one in more if kind_of(one) == kind_of(name)), None)
        if instead is None:
            gone.append(f"{number} ({_small(SHORT.split(name)[0])})")
        else:
            more.remove(instead)
            less = name.removeprefix(f"{instead}, ")
            short = less != name and not less.startswith("or ")
            changed.append(f"{number} not {less}" if short else f"{_small(instead)} in place of {number}")
    return [
        *([f"without {listed(gone)}"] if gone else []),
        *([f"with {listed([_small(name) for name in more])}"] if more else []),
        *changed,
    ]


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]


def other_sizes(drawn: Drawing, mine: Drawing, but: str = "") -> list[str]:
    """Sizes of an elevation's own drawing that are not those of another, each once, by the words that stand at them there."""
    differ: dict[tuple[str, str], str] = {}
    there = {(one.key, size_name(one)): one.value for one in drawn.section.dimensions}
    for one in mine.section.dimensions:
        what = (one.key, size_name(one))
        if what[1] != but and what not in differ and one.value and one.value != there.get(what):
            words = f"{size_name(one)} {drawn_amount(one)}" if one.is_straight else tag_words(one)
            differ[what] = words if what in there else f"{words} (not in the drawing)"
    values, asked = (one.numbers.values if one.numbers else {} for one in (mine, drawn))
    own = {one.key for one in mine.section.dimensions}
    lacks = [
        f"no {'fall' if one.axis.startswith('fall') else size_name(one)}{'' if one.key in values else ' asked'}"
        for one in drawn.section.dimensions
        if size_name(one) != but
        and values.get(one.key, 0) == 0
        and (one.key in values or (one.key in asked and one.key not in own))
    ]
    named = {but, *(size_name(one) for one in mine.section.dimensions)}
    lacks += [
        f"no {size_name(one)} {drawn_amount(one)}"
        for one in drawn.section.dimensions
        if drawn.section.key in CORNERS and one.key in values and size_name(one) not in named
    ]
    return [*differ.values(), *dict.fromkeys(lacks)]
