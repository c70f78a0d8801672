"""Many pictures in one HTML file, each written once and short: shapes and looks that several share stand there once.

Nothing is lost: each shape keeps its points to the last digit, and a shape filled and then drawn round is written as one that is
both. What is drawn is pointed to from as many places as want it.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache, partial
from itertools import pairwise
from typing import NamedTuple

from markupsafe import Markup

from exposure.draw.lettering import FONT

SVG = re.compile(r'<svg [^>]*?(viewBox="[^"]*")[^>]*>(.*)</svg>', re.DOTALL)
TAG = re.compile(r'<(path|circle|rect|line|text|tspan)((?: [\w-]+="[^"]*")*)(?=/?>)')
ATTRIBUTE = re.compile(r' ([\w-]+)="([^"]*)"')
LOOKS = {"fill", "stroke", "font-size", "font-weight", "text-anchor", "opacity", "fill-opacity"}
SHAPE = re.compile(r"<(?:path|circle|rect|line)\b[^>]*/>|<text\b[^>]*>[^<]*</text>")
RUN = re.compile(rf"(?:{SHAPE.pattern})+")
ROUND = re.compile(r"(?<=\d)\.0(?![\d])")
POINT = r"-?[\d.]+ -?[\d.]+"
LINES = re.compile(rf"M{POINT}(?: L{POINT})+Z?")
TWICE = re.compile(r'<path d="([^"]*)" class="(k\d+)"/><path d="\1" class="(k\d+)"/>')


class Store(NamedTuple):
    """Pictures to stand once in a file, and the rules that its one style sheet needs for them."""

    html: Markup
    css: str


def pointer(id_: str, picture: str) -> Markup:
    """A stored picture where it is wanted, told by its title and its sizes in words."""
    view, _ = _opened(picture)
    return Markup(
        f'<svg {view} role="img" aria-labelledby="{id_}-title {id_}-desc"><use href="#{id_}"/></svg>'
    )


def _opened(picture: str) -> tuple[str, str]:
    """What a picture of :func:`exposure.draw.drawing.picture` shows, as its view and what stands in it."""
    [(view, body)] = SVG.findall(picture)
    return view, body


def stored(pictures: Mapping[str, str]) -> Store:
    """All pictures as symbols by their names.

    Parameters
    ----------
    pictures
        SVG by the name it is pointed to with, which starts its own names too.

    Examples
    --------
    >>> from exposure.draw.drawing import picture
    >>> same = '<path d="M1.0 1.0 L20.0 1.0 L20.0 30.5 L3.0 4.0Z" fill="#000000"/><circle cx="3" cy="3" r="9"/>'
    >>> one, two = (picture(same, width=9, height=9, title=t, desc="", prefix=t) for t in ("a", "b"))
    >>> store = stored({"a": one, "b": two})
    >>> store.html.count("M1 1H20V30.5L3 4Z"), store.html.count('<use href="#z0"/>'), store.html.count("<symbol id=")
    (1, 2, 2)
    >>> ".k0{fill:#FFFFFF}" in store.css, ".k1{fill:#000000}" in store.css
    (True, True)
    """
    looks: dict[str, str] = {}
    inside = {}
    for id_, picture in pictures.items():
        view, body = _opened(picture)
        short = TAG.sub(lambda tag: _short(tag, looks), body)
        look_of = {name: look for look, name in looks.items()}
        inside[id_] = (view, TWICE.sub(partial(_both, looks=looks, look_of=look_of), short))
    found = [SHAPE.findall(run) for _, body in inside.values() for run in RUN.findall(body)]
    together = _together(found)
    runs = [together(run) for run in found]
    shared = _worth_sharing(Counter(part for run in runs for part in run))
    in_turn = iter(runs)
    symbols = [
        f'<symbol id="{id_}" {view}>{RUN.sub(lambda _: _pointed(next(in_turn), shared), body)}</symbol>'
        for id_, (view, body) in inside.items()
    ]
    shapes = [f'<g id="z{place}">{part}</g>' for place, part in enumerate(shared)]
    html = f'<svg class="store" aria-hidden="true"><defs>{"".join([*shapes, *symbols])}</defs></svg>'
    rules = [f".{name}{{{look}}}" for look, name in looks.items()]
    return Store(Markup(html), "".join([f"symbol{{font-family:{FONT}}}", *rules]))


def _short(tag: re.Match, looks: dict[str, str]) -> str:
    """A start tag whose looks stand behind one short class, its points as short as they can be told."""
    start, look = _start(tag[1], tag[2])
    name = looks.setdefault(look, f"k{len(looks)}") if look else ""
    return start + (f' class="{name}"' if name else "")


@lru_cache(maxsize=2**14)
def _start(name: str, attributes: str) -> tuple[str, str]:
    """A start tag without its looks, and these; remembered, for pictures of one house repeat their shapes."""
    where, look = [], []
    for key, value in ATTRIBUTE.findall(attributes):
        if key in LOOKS or key.startswith("stroke-"):
            look.append(f"{key}:{value}{'px' if key == 'font-size' else ''}")
        else:
            where.append(f' {key}="{short_path(value) if key == "d" else ROUND.sub("", value)}"')
    return f"<{name}{''.join(where)}", ";".join(look)


def _both(pair: re.Match, looks: dict[str, str], look_of: Mapping[str, str]) -> str:
    """A shape that is filled and then drawn round as one that is both, which a browser paints in that order."""
    under, over = look_of[pair[2]], look_of[pair[3]]
    if "stroke" in under or not over.startswith("fill:none;stroke"):
        return pair[0]
    look = f"{under};{over.removeprefix('fill:none;')}"
    return f'<path d="{pair[1]}" class="{looks.setdefault(look, f"k{len(looks)}")}"/>'


def short_path(data: str) -> str:
    """Path data of straight lines, level and upright ones told by their one figure, each line from where it starts if that is shorter.

    Examples
    --------
    >>> short_path("M1.0 2.0 L9.0 2.0 L9.0 5.5 L4.0 4.0Z M0.0 0.0 L0.0 3.0")
    'M1 2H9V5.5L4 4ZM0 0V3'
    >>> short_path("M100.4 250.0 L103.4 250.0 L103.4 246.9 L100.4 250.0")
    'M100.4 250h3v-3.1l-3 3.1'
    >>> short_path("M1.0 2.0 Q9.0 2.0 9.0 5.0")
    'M1 2 Q9 2 9 5'
    """
    data = ROUND.sub("", data)
    if not re.fullmatch(rf"{LINES.pattern}(?: {LINES.pattern})*", data):
        return data
    return "".join(_short_line(line) for line in LINES.findall(data))


def _short_line(line: str) -> str:
    points = [point.split() for point in line[1:].removesuffix("Z").split(" L")]
    parts = ["M" + " ".join(points[0])]
    for (x, y), (to_x, to_y) in pairwise(points):
        if to_y == y:
            ways = (f"H{to_x}", f"h{_less(to_x, x)}")
        elif to_x == x:
            ways = (f"V{to_y}", f"v{_less(to_y, y)}")
        else:
            along, up = _less(to_x, x), _less(to_y, y)
            ways = (f"L{to_x} {to_y}", f"l{along}{'' if up[0] == '-' else ' '}{up}")
        parts.append(min(ways, key=len))
    return "".join(parts) + "Z" * line.endswith("Z")


def _less(end: str, start: str) -> str:
    """How far it is from one to the other, exactly as they are written."""
    way = f"{Decimal(end) - Decimal(start):f}"
    return way.rstrip("0").rstrip(".") if "." in way else way


def _together(runs: Sequence[Sequence[str]]) -> Callable[[Sequence[str]], list[str]]:
    """What puts those shapes of a run together that never come without each other."""
    after: dict[str, set[str]] = {}
    before: dict[str, set[str]] = {}
    for run in runs:
        for one, other in pairwise(("", *run, "")):
            after.setdefault(one, set()).add(other)
            before.setdefault(other, set()).add(one)

    def parts(run: Sequence[str]) -> list[str]:
        found: list[str] = []
        for one, other in pairwise(("", *run)):
            if one and len(after[one]) == len(before[other]) == 1:
                found[-1] += other
            else:
                found.append(other)
        return found

    return parts


def _worth_sharing(often: Mapping[str, int]) -> dict[str, str]:
    """Parts that are shorter pointed to than written each time, with what points to them."""
    shared: dict[str, str] = {}
    for part, times in often.items():
        points = f'<use href="#z{len(shared)}"/>'
        if times * len(part) > times * len(points) + len(part) + len('<g id="z999"></g>'):
            shared[part] = points
    return shared


def _pointed(parts: Sequence[str], shared: Mapping[str, str]) -> str:
    return "".join(shared.get(part, part) for part in parts)
